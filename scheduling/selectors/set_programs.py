"""Programs as they are set: out of a recorded setting, and out of a month of a fitted set."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from audits.models import ProgramSetting
from scheduling.domain.program_days import pattern_of
from scheduling.domain.program_steps import SetProgram, SetState
from scheduling.domain.programs import DayPattern
from scheduling.models import ControllerProgram


def recorded_state(setting: ProgramSetting) -> SetState:
    """Return what a setting records; it should come out of `with_programs`."""
    programs = [
        SetProgram(
            name=program.name,
            pattern=_recorded_days(program.weekdays, program.interval_days),
            starts=tuple(dt.time.fromisoformat(start) for start in program.starts),
            minutes={str(run.zone_id): run.run_min for run in program.runs.all()},
        )
        for program in setting.programs.all()
    ]
    return SetState(tuple(programs), setting.seasonal_percent)


def fitted_state(row: ControllerProgram, month: int) -> SetState | None:
    """Return what a fitted set has for a month (1 to 12); None where it has nothing."""
    setting = next((each for each in row.months if each["month"] == month), None)
    return None if setting is None else month_state(setting)


def month_state(setting: Mapping[str, Any]) -> SetState:
    """Return what a month of a fitted set says."""
    return SetState(tuple(_fitted(program) for program in setting["programs"]), setting["percent"])


def _recorded_days(weekdays: list[int], interval_days: int | None) -> DayPattern | None:
    if interval_days:
        return DayPattern(every_days=interval_days)
    return DayPattern(weekdays=tuple(weekdays)) if weekdays else None


def _fitted(program: Mapping[str, Any]) -> SetProgram:
    return SetProgram(
        name=program["name"],
        pattern=pattern_of(program["pattern"]),
        starts=tuple(dt.time.fromisoformat(start) for start in program["starts"]),
        minutes={run["zone"]: run["run_min"] for run in program["minutes"]},
    )
