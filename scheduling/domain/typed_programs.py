"""A fitted year as it is kept: what a person types in each month, and what the zones get of it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Final

from scheduling.domain.controller_year import SpellFit
from scheduling.domain.program_days import days_data, days_words
from scheduling.domain.program_loads import busiest_day_min, window_min
from scheduling.domain.programs import (
    ControllerTask,
    DayPattern,
    FittedProgram,
    MonthSetting,
    Unmet,
    ZoneFit,
)

DECIMALS: Final = 3


def typed_peak(fit: SpellFit) -> list[dict[str, Any]]:
    """Return the programs of the thirstiest month as a person types them in."""
    return [_typed(program, program.pattern) for program in fit.programs]


def typed_months(task: ControllerTask, fit: SpellFit) -> list[dict[str, Any]]:
    """Return what is set in each month of a spell, and what the zones get."""
    return [_month(task, fit, setting) for setting in fit.months]


def typed_unmet(fit: SpellFit) -> list[dict[str, Any]]:
    """Return what could not be met in the thirstiest month, with what the zone loses by it."""
    peak = next(month for month in fit.months if month.month == fit.peak_month)
    zones = {zone.zone_id: zone for zone in peak.zones}
    return [_unmet(each, zones.get(each.zone_id), fit.peak_month) for each in fit.unmet]


def _unmet(unmet: Unmet, zone: ZoneFit | None, month: int) -> dict[str, Any]:
    return {
        **asdict(unmet),
        "month": month,
        "need_mm_week": None if zone is None else round(zone.need_mm_week, DECIMALS),
        "shortfall_mm_week": None if zone is None else round(zone.shortfall_mm_week, DECIMALS),
        "excess_mm_week": None if zone is None else round(zone.excess_mm_week, DECIMALS),
    }


def _month(task: ControllerTask, fit: SpellFit, setting: MonthSetting) -> dict[str, Any]:
    patterns = dict(setting.patterns)
    running = [(one, days) for one in fit.programs if (days := patterns[one.name]) is not None]
    return {
        "month": setting.month,
        "percent": setting.percent,
        "programs": [_typed(program, patterns[program.name]) for program in fit.programs],
        "zones": [_zone(zone) for zone in setting.zones],
        "busiest_day_min": busiest_day_min(running, setting.percent),
        "window_min": window_min(task),
        "is_proven": setting.is_proven,
    }


def _typed(program: FittedProgram, pattern: DayPattern | None) -> dict[str, Any]:
    return {
        "name": program.name,
        "days": days_words(pattern),
        "pattern": days_data(pattern),
        "starts": [f"{start:%H:%M}" for start in program.start_times],
        "minutes": [
            {"zone": str(zone_id), "run_min": minutes} for zone_id, minutes in program.zone_minutes
        ],
    }


def _zone(zone: ZoneFit) -> dict[str, Any]:
    litres = zone.litres_week
    return {
        "zone": str(zone.zone_id),
        "program": zone.program,
        "need_mm_week": round(zone.need_mm_week, DECIMALS),
        "depth_mm_week": round(zone.depth_mm_week, DECIMALS),
        "shortfall_mm_week": round(zone.shortfall_mm_week, DECIMALS),
        "excess_mm_week": round(zone.excess_mm_week, DECIMALS),
        "litres_week": None if litres is None else round(litres, DECIMALS),
    }
