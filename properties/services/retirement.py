"""Ending a row without losing it, and bringing it back.

What hangs on the row may stand against it: a higher app registers what it knows (`blocks`), and the
first objection is the answer. A property takes its zones along, and gives them back.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final, TypeVar

from django.db import transaction

from properties.domain.errors import RefusedError
from properties.models import Controller, Customer, Event, Property, Row, StaffMember, Zone
from properties.selectors.retirement import is_retired, narrow_to_retired, retires_by
from properties.services.rows import change_row, change_what_differs

AnyRow = TypeVar("AnyRow", bound=Row)
Objection = Callable[[Any], str]
WITH_ITS_PROPERTY: Final = "retired with its property"
_OBJECTIONS: Final[list[tuple[type[Any], Objection, str]]] = []


def register_objection(model: type[Any], objection: Objection, *, remedy: str) -> None:
    """Keep a row of `model` in use while `objection(row)` returns a sentence."""
    _OBJECTIONS.append((model, objection, remedy))


def refuse_while_in_use(row: Any) -> None:
    """Refuse to end what something in use still hangs on."""
    for model, objection, remedy in _OBJECTIONS:
        if isinstance(row, model) and (sentence := objection(row)):
            raise RefusedError(sentence, code="in-use", remedy=remedy)


@transaction.atomic
def retire(
    row: AnyRow, *, read_revision: int | None = None, actor: StaffMember, now: datetime
) -> AnyRow:
    """End a row; one that is retired already stays as it is."""
    held = _held(row)
    if not is_retired(held):
        refuse_while_in_use(held)
    changed = _mark(held, retired=True, read_revision=read_revision, actor=actor, now=now)
    if isinstance(changed, Property):
        for zone in changed.zones.filter(is_active=True):
            change_row(zone, {"is_active": False}, actor=actor, now=now, act=WITH_ITS_PROPERTY)
    return changed


@transaction.atomic
def bring_back(
    row: AnyRow, *, read_revision: int | None = None, actor: StaffMember, now: datetime
) -> AnyRow:
    """Take a row into use again; what it hangs on must be in use."""
    held = _held(row)
    for name in held.needs_live:
        named = getattr(held, name)
        if named is not None and is_retired(named):
            raise RefusedError(
                f"{named} is retired.",
                code="retired", field=name, remedy="Bring that back first.",
            )  # fmt: skip
    changed = _mark(held, retired=False, read_revision=read_revision, actor=actor, now=now)
    if isinstance(changed, Property):
        _bring_back_zones(changed, actor=actor, now=now)
    return changed


def _held(row: AnyRow) -> AnyRow:
    held: AnyRow = type(row)._base_manager.select_for_update().get(pk=row.pk)
    return held


def mark_of(row: Any, *, retired: bool, now: datetime) -> dict[str, Any]:
    """Return the change that retires a row or brings it back; none where it is so already."""
    if is_retired(row) == retired:
        return {}
    flag, moment = retires_by(type(row)), now if retired else None
    return {flag: {"retired_at": moment, "is_active": not retired}.get(flag, retired)}


def _mark(
    held: AnyRow, *, retired: bool, read_revision: int | None, actor: StaffMember, now: datetime
) -> AnyRow:
    changes = mark_of(held, retired=retired, now=now)
    return change_what_differs(
        held, changes, read_revision=read_revision, actor=actor, now=now,
        act="retired" if retired else "brought back",
    )  # fmt: skip


def _bring_back_zones(property_: Property, *, actor: StaffMember, now: datetime) -> None:
    """Bring back the zones that went with the property, not those that were out of use before."""
    for zone in property_.zones.filter(is_active=False):
        last = Event.objects.filter(subject_id=zone.pk).order_by("-id").first()
        if last is not None and last.act == WITH_ITS_PROPERTY:
            change_row(zone, {"is_active": True}, actor=actor, now=now, act="brought back")


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _properties_of(customer: Customer) -> str:
    count = narrow_to_retired(customer.properties.all(), retired=False).count()
    return f"{customer} has {_count(count, 'property', 'properties')} in use." if count else ""


def _zones_on(controller: Controller) -> str:
    count = Zone.objects.filter(controller=controller, is_active=True).count()
    return f"{controller} runs {_count(count, 'zone', 'zones')}." if count else ""


register_objection(Customer, _properties_of, remedy="Retire them first, or give them to another.")
register_objection(
    Controller, _zones_on, remedy="Retire its zones first, or put them on another controller."
)
