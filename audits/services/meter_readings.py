"""Recording the property's water meter, so that its readings stay in order."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from django.db import transaction

from audits.models import MeterReading
from audits.services.field_records import check_may_record_at
from properties.domain.errors import InvalidInputError
from properties.models import Property, StaffMember
from properties.services.rows import add_row

METER_CHANGED_REMEDY: Final = (
    "Check the number, its unit and the moment. If the meter was changed or its register came round"
    " in between, set meter_changed on the later reading and say so in its note."
)


@transaction.atomic
def record_meter_reading(
    values: Mapping[str, Any], *, actor: StaffMember, now: datetime
) -> MeterReading:
    """Store a reading; the office may do so without a visit.

    A meter only counts up. From one reading to the next in time it may fall only where the later
    one says that the meter changed; this holds for a reading that is entered afterwards as well.
    """
    place, read_at = values["property"], values.get("read_at", now)
    check_may_record_at(
        place.pk, values.get("visit"),
        actor=actor, happened_at=read_at, now=now, moment_field="read_at",
    )  # fmt: skip
    Property.objects.select_for_update().get(pk=place.pk)  # two readings at once stay in order
    _check_order({"meter_changed": False, **values, "read_at": read_at})
    return add_row(MeterReading, {**values, "read_at": read_at}, actor=actor, now=now, act="read")


def _check_order(values: Mapping[str, Any]) -> None:
    readings = MeterReading.objects.filter(property=values["property"])
    reading_l, read_at = values["reading_l"], values["read_at"]
    before = readings.filter(read_at__lt=read_at).order_by("-read_at").first()
    after = readings.filter(read_at__gt=read_at).order_by("read_at").first()
    if before and reading_l < before.reading_l and not values["meter_changed"]:
        raise _backwards(f"below the {before.reading_l:g} L read at {_text(before)}")
    if after and reading_l > after.reading_l and not after.meter_changed:
        raise _backwards(f"above the {after.reading_l:g} L read later, at {_text(after)}")


def _backwards(where: str) -> InvalidInputError:
    return InvalidInputError(
        f"This reading is {where}.",
        field="reading_l", code="meter-ran-backwards", remedy=METER_CHANGED_REMEDY,
    )  # fmt: skip


def _text(reading: MeterReading) -> str:
    return f"{reading.read_at:%Y-%m-%d %H:%M} UTC"
