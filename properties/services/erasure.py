"""Erasing a client: what tells who he was goes, what was measured stays, the act is remembered.

1. Each higher app erases what it holds of him; it registers how. One that refuses undoes it all.
2. The rows of the client and of his properties are retired and lose their personal values; a
   property keeps town, zones and a position rounded to some ten kilometres, so that what was
   measured keeps its weather.
3. Events never held such values; one more says that he was erased, by whom and why.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final, Protocol

from django.db import transaction

from properties.domain.errors import RefusedError, StaleError
from properties.models import Customer, ErasureReason, ImportLine, Property, StaffMember
from properties.services.retirement import retire
from properties.services.rows import change_row

ERASED_CLIENT: Final = "Erased client"
ERASED: Final = "(erased)"
_KEPT_DECIMALS: Final = 1


class Eraser(Protocol):
    def __call__(
        self, customer: Customer, properties: Sequence[Property], *, now: datetime
    ) -> None: ...


_ERASERS: Final[list[Eraser]] = []


def register_eraser(eraser: Eraser) -> None:
    """Have `eraser(customer, properties, now=...)` called in the transaction of each erasure."""
    if eraser not in _ERASERS:
        _ERASERS.append(eraser)


@transaction.atomic
def erase_customer(
    customer: Customer,
    *,
    reason: ErasureReason,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> Customer:
    """Erase a client for good; one who is erased already is returned as he is.

    Raises
    ------
    RefusedError
        While something is still to be done for him, such as a visit ahead.
    StaleError
        When somebody changed his row since it was read.
    """
    held = Customer.objects.select_for_update().get(pk=customer.pk)
    if held.erased_at is not None:
        return held
    if read_revision not in (None, held.revision):
        raise StaleError(revision=held.revision)
    properties = list(held.properties.select_for_update().order_by("pk"))
    for eraser in _ERASERS:
        eraser(held, properties, now=now)
    _erase_import_lines({held.reference, *(each.reference for each in properties)} - {""})
    for property_ in properties:
        _erase_property(property_, actor, now)
    return _emptied(retire(held, actor=actor, now=now), reason, actor, now)


def _erase_import_lines(references: set[str]) -> None:
    """Empty what reports of files say under his references; refuse while a file still waits."""
    for reference in sorted(references):
        alike = ImportLine.objects.filter(reference__contains=reference).select_related("sheet")
        lines = [line for line in alike if reference in line.reference.split(" / ")]
        if any(line.sheet.ended_at is None for line in lines):
            raise RefusedError(
                "A file that was sent and not written yet has rows of this client.",
                code="import-open", remedy="Have it written or cancel it first.",
            )  # fmt: skip
        named = ImportLine.objects.filter(pk__in=[line.pk for line in lines])
        named.update(reference=ERASED, changes=[], faults=[])


def _emptied(
    customer: Customer, reason: ErasureReason, actor: StaffMember, now: datetime
) -> Customer:
    changes = {
        "name": ERASED_CLIENT, "email": "", "phone": "", "reference": "", "consent_note": "",
        "wants_notices": False, "refused_address_sha256": "", "erased_at": now,
        "erased_for": reason,
    }  # fmt: skip
    return change_row(customer, changes, actor=actor, now=now, act="erased")


def _erase_property(property_: Property, actor: StaffMember, now: datetime) -> None:
    changes = {
        "name": f"Property in {property_.city}", "reference": "", "street": ERASED,
        "house_number": "", "postal_code": "", "access_notes": "", "animals": "",
        "latitude": _rounded(property_.latitude), "longitude": _rounded(property_.longitude),
    }  # fmt: skip
    retired = retire(property_, actor=actor, now=now)
    change_row(retired, changes, actor=actor, now=now, act="erased")
    for controller in property_.controllers.exclude(where=""):
        change_row(controller, {"where": ""}, actor=actor, now=now, act="erased")


def _rounded(degrees: float | None) -> float | None:
    return None if degrees is None else round(degrees, _KEPT_DECIMALS)
