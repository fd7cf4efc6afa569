"""Recording what the meter and the gauge showed while a zone ran."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from django.db import transaction

from audits.domain.flow_checks import metered_flow_l_min, pressure_drop_kpa
from audits.models import FlowCheck
from audits.services.field_records import check_may_record, check_zone_of_property
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.models import Property, StaffMember, Zone
from properties.services.rows import add_row

METER_FIELDS: Final = ("meter_before_l", "meter_after_l", "run_min", "register_l")


@transaction.atomic
def record_flow_check(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> FlowCheck:
    """Store what was read at a visit, with the flow that the readings come to."""
    visit, zone = values["visit"], values["zone"]
    taken_at = values.get("taken_at", now)
    check_may_record(visit, actor=actor, happened_at=taken_at, now=now)
    check_zone_of_property(zone, visit.property_id)
    _check_tap(values.get("tap", ""), zone)
    check_pressures(values, visit.property)
    row = {**values, "taken_at": taken_at, "flow_l_min": _metered_flow_l_min(values)}
    return add_row(FlowCheck, row, actor=actor, now=now, act="checked")


def _check_tap(tap: str, zone: Zone) -> None:
    """Refuse the tap of a zone that a valve feeds: its check would count for the hoses."""
    kinds = {zone.head_kind, *zone.head_groups.values_list("kind", flat=True)} if tap else set()
    if tap and HeadKind.HOSE_END not in kinds:
        raise InvalidInputError(
            "A valve feeds this zone, not a tap.", field="tap", code="no-hose",
            remedy="Leave the tap out, or choose the zone that its hose waters.",
        )  # fmt: skip


def _metered_flow_l_min(values: Mapping[str, Any]) -> float | None:
    """Return the flow, if the meter was read at all; half of a reading is refused."""
    before, after, minutes, register = (values.get(name) for name in METER_FIELDS)
    if before is after is minutes is register is None:
        return None
    return metered_flow_l_min(before, after, minutes, register_l=register)  # type: ignore[arg-type]


def check_pressures(values: Mapping[str, Any], place: Property) -> None:
    """Refuse a running pressure above the static one that was read, or else the property's."""
    running_kpa, static_kpa = values.get("running_kpa"), values.get("static_kpa")
    if static_kpa is None:
        static_kpa = place.static_pressure_kpa
    if running_kpa is not None and static_kpa is not None:
        has_pump = values.get("has_pump", False)
        pressure_drop_kpa(static_kpa, running_kpa, has_booster_pump=has_pump)
