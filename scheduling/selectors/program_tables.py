"""A stored set as the table that a person types from, and what it changes on the controller."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from audits.models import ProgramSetting
from audits.selectors.program_settings import with_programs
from properties.domain.errors import RefusedError
from properties.domain.units import System
from properties.models import Zone
from scheduling.domain.program_changes import NOTHING, Change, program_changes
from scheduling.domain.program_table import (
    PlanUsed,
    ProgramTable,
    TableParts,
    ZoneName,
    first_day,
    month_line,
    quality_sentence,
)
from scheduling.models import ControllerProgram
from scheduling.selectors.controller_programs import newest_plans
from scheduling.selectors.set_programs import month_state, recorded_state


@dataclass(frozen=True)
class ProgramComparison:
    """What to change on a controller for a month; `found` is the setting that runs now."""

    fit: ControllerProgram
    found: ProgramSetting
    month: int
    changes: tuple[Change, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """The changes in words, or that there are none."""
        return tuple(change.sentence for change in self.changes) or (NOTHING,)


def program_table(
    row: ControllerProgram, *, month: int, on: dt.date, units: System
) -> ProgramTable:
    """Return the table of a stored year with the days of one month; intervals count from `on`.

    Raises
    ------
    RefusedError
        For a set from before whole years were fitted.
    """
    setting = _month(row, month)
    names, property_ = _zone_names(row), row.controller.property
    inputs: dict[str, Any] = row.inputs
    parts = TableParts(names, inputs["estimated"], units)
    day = first_day(month, on)
    months = tuple(month_line(each, on) for each in row.months)
    proven = all(line.is_proven for line in months)
    return ProgramTable(
        property_name=property_.name,
        controller_name=row.controller.name,
        number=row.number,
        style=row.style,
        fitted_at=row.changed_at.astimezone(zoneinfo.ZoneInfo(property_.time_zone)),
        month=month,
        percent=setting["percent"],
        programs=parts.programs(setting, day),
        sheets=tuple(parts.sheets(row.months, day)),
        months=months,
        not_met=tuple(parts.not_met(unmet) for unmet in row.unmet),
        left_out=tuple(_left_out(names, inputs["left_out"])),
        remarks=tuple(inputs["remarks"]),
        plans=_plans_used(inputs["plans"], names),
        gap_mm_week=row.gap,
        quality=quality_sentence(row.gap, units, months_proven=proven),
    )


def program_comparison(row: ControllerProgram, *, month: int, units: System) -> ProgramComparison:
    """Return what to change against the setting that runs now, for one month.

    Raises
    ------
    RefusedError
        Where nobody knows what the controller is set to, or the set is not of a whole year.
    """
    setting = _month(row, month)
    settings = with_programs(ProgramSetting.objects.filter(controller=row.controller_id))
    found = settings.order_by("-since", "-id").first()
    if found is None:
        raise RefusedError(
            f"Nobody has recorded what {row.controller} is set to.",
            code="no-setting", field="controller",
            remedy="Record the program found on it, then compare.",
        )  # fmt: skip
    now, then = recorded_state(found), month_state(setting)
    changes = program_changes(
        now.programs,
        then.programs,
        percents=(now.percent, then.percent),
        zones=_zone_names(row),
        units=units,
    )
    return ProgramComparison(row, found, month, changes)


def _month(row: ControllerProgram, month: int) -> dict[str, Any]:
    if not row.months:
        raise RefusedError(
            "This set was fitted for a single month.",
            code="not-a-whole-year", field="months", remedy="Have the controller fitted anew.",
        )  # fmt: skip
    setting: dict[str, Any] = row.months[month - 1]
    return setting


def _zone_names(row: ControllerProgram) -> dict[str, ZoneName]:
    """Names of all zones of the property: one may have been wired elsewhere since."""
    zones = Zone.objects.filter(property=row.controller.property_id).only("number", "name")
    return {str(zone.pk): ZoneName(zone.number, zone.name) for zone in zones}


def _left_out(names: Mapping[str, ZoneName], reasons: Mapping[str, str]) -> list[str]:
    return [f"Zone {names[zone].label} is left out: {why}" for zone, why in reasons.items()]


def _plans_used(used: Mapping[str, int], names: Mapping[str, ZoneName]) -> tuple[PlanUsed, ...]:
    newest = {str(pk): plan.number for pk, plan in newest_plans(used).items()}
    return tuple(
        PlanUsed(zone=names[zone].label, number=number, newest=newest.get(zone, number))
        for zone, number in sorted(used.items(), key=lambda pair: names[pair[0]].number)
    )
