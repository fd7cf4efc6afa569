"""What is replayed: each way of watering that is asked for, as the domain runs it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final
from uuid import UUID

from audits.domain.found_program import FoundProgram
from audits.selectors.program_settings import found_program
from properties.domain.errors import RefusedError
from scheduling.domain.program_waterings import MONTHS, dated_program
from scheduling.domain.replay_schedules import (
    ALWAYS_WHOLE,
    IdealSchedule,
    ReplayCase,
    Schedule,
    SetSchedule,
)
from scheduling.domain.what_if import (
    AddRainSensor,
    Change,
    ChangeDays,
    ChangeMinutes,
    CutArea,
    MendFaults,
    SetPercents,
    SwapNozzles,
    changed,
)
from scheduling.selectors.replay_zones import FoundZone

FOUND: Final = "found"
IDEAL: Final = "ideal"
FITTED: Final = "fitted"
PROGRAM: Final = "program"
BASES: Final = (FOUND, IDEAL, FITTED, PROGRAM)
CHANGE_KINDS: Final[dict[str, type[Change]]] = {
    "mend_faults": MendFaults,
    "swap_nozzles": SwapNozzles,
    "cut_area": CutArea,
    "days": ChangeDays,
    "minutes": ChangeMinutes,
    "rain_sensor": AddRainSensor,
    "seasonal_percent": SetPercents,
}

_READ_AS: Final[dict[str, Callable[[Any], Any]]] = {
    "weekdays": frozenset,
    "seasonal_percent": tuple,
}


def needs_repairs(variants: Sequence[Mapping[str, Any]]) -> bool:
    """Return whether any change mends faults without saying how well."""
    return any(
        change["kind"] == "mend_faults" and change.get("du_lq") is None
        for variant in variants
        for change in variant["changes"]
    )


def case_of(found: FoundZone, variant: Mapping[str, Any], first: dt.date) -> ReplayCase:
    """Return a zone under one way of watering.

    Raises
    ------
    RefusedError
        For a zone that cannot be replayed so: without a rate, a known setting, or a program that
        names it, or where a change cannot be made.
    """
    if found.refusal is not None:
        raise found.refusal
    assert found.ready is not None
    schedule = _schedule(found, variant, first)
    return changed(ReplayCase(found.ready, schedule), changes_of(variant))


def changes_of(variant: Mapping[str, Any]) -> list[Change]:
    """Return the changes of a variant as the domain makes them."""
    return [_change(values) for values in variant["changes"]]


def programs_of(variant: Mapping[str, Any]) -> tuple[FoundProgram, ...]:
    """Return the programs that a variant gives."""
    return tuple(
        FoundProgram(
            weekdays=frozenset(program.get("weekdays") or ()) or None,
            interval_days=program.get("interval_days"),
            start_times=tuple(dt.time.fromisoformat(start) for start in program["starts"]),
            zone_minutes=tuple((UUID(run["zone"]), run["run_min"]) for run in program["runs"]),
        )
        for program in variant["programs"]
    )


def found_schedule(found: FoundZone) -> SetSchedule:
    """Return what the controller of a zone is set to; a sensor that works counts as usual."""
    if found.setting is None:
        raise RefusedError(
            "It is not known what the controller of this zone is set to.",
            code="no-setting", field="zone",
            remedy="Record the controller's setting, or replay a program that you give.",
        )  # fmt: skip
    since = found.setting.since
    return SetSchedule(
        programs=tuple(
            dated_program(found_program(program), since) for program in found.setting.programs.all()
        ),
        monthly_percent=(float(found.setting.seasonal_percent),) * MONTHS,
        rain_skip=found.sensor,
    )


def fitted_schedule(found: FoundZone) -> SetSchedule:
    """Return the newest fit of the controller of a zone."""
    fitted = found.fitted
    if fitted is None:
        raise RefusedError(
            "No programs of a whole year are fitted to the controller of this zone.",
            code="no-fit", field="zone", remedy="Have the programs of its controller fitted.",
        )  # fmt: skip
    if found.zone.pk not in fitted.zone_ids:
        raise RefusedError(
            "The fitted programs leave this zone out.",
            code="not-in-fit", field="zone",
            remedy="Have its plan stored, and the programs of its controller fitted anew.",
        )  # fmt: skip
    return SetSchedule(
        programs=fitted.programs, monthly_percent=fitted.monthly_percent, rain_skip=found.sensor
    )


def _schedule(found: FoundZone, variant: Mapping[str, Any], first: dt.date) -> Schedule:
    if variant["base"] == IDEAL:
        return IdealSchedule()
    if variant["base"] == FOUND:
        return found_schedule(found)
    if variant["base"] == FITTED:
        return fitted_schedule(found)
    return _given_schedule(found, variant, first)


def _given_schedule(found: FoundZone, variant: Mapping[str, Any], first: dt.date) -> SetSchedule:
    programs = programs_of(variant)
    if not any(found.zone.pk in dict(program.zone_minutes) for program in programs):
        raise RefusedError(
            "The given program does not name this zone.",
            code="not-in-program", field="zone", remedy="Give the minutes of this zone as well.",
        )  # fmt: skip
    anchor = dt.date.fromisoformat(variant["anchor"]) if variant.get("anchor") else first
    return SetSchedule(
        programs=tuple(dated_program(program, anchor) for program in programs),
        monthly_percent=tuple(variant.get("seasonal_percent") or ALWAYS_WHOLE),
        rain_skip=found.sensor,
    )


def _change(values: Mapping[str, Any]) -> Change:
    given = {name: value for name, value in values.items() if name not in ("kind", "zones")}
    fields = {
        name: _READ_AS[name](value) if name in _READ_AS and value is not None else value
        for name, value in given.items()
    }
    change = CHANGE_KINDS[values["kind"]](**fields)
    return replace(change, zone_ids=frozenset(UUID(zone) for zone in values.get("zones", ())))
