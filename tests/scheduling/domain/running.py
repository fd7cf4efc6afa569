"""Past and coming days with fixed, hand-sized defaults, for tests of the running plan."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np

from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.running_days import AheadDays, PastDays
from scheduling.domain.running_plan import RunningPlan, running_plan
from tests.scheduling.domain.zones import FREE, SAND, make_zone

MONDAY = dt.date(2026, 6, 8)
DAYS = 14


def span(first: dt.date, count: int) -> Any:
    return np.datetime64(first, "D") + np.arange(count)


def make_past(
    count: int = 60, *, et0_mm: float = 5.0, today: dt.date = MONDAY, **changes: Any
) -> PastDays:
    """Days without rain; what was put down just covers a need that equals ET0, evenly."""
    zeros = np.zeros(count)
    values = {
        "dates": span(today - dt.timedelta(days=count), count),
        "et0_mm": np.full(count, et0_mm),
        "rain_mm": zeros,
        "is_usual": np.zeros(count, dtype=bool),
        "waterings": DatedWaterings(np.full(count, et0_mm), zeros, zeros),
    }
    return PastDays(**{**values, **changes})


def make_ahead(et0_mm: Any = 5.0, *, today: dt.date = MONDAY, **changes: Any) -> AheadDays:
    """Fourteen forecast days without rain or frost."""
    values = {
        "dates": span(today, DAYS),
        "et0_mm": np.broadcast_to(et0_mm, DAYS),
        "rain_mm": np.zeros(DAYS),
        "rain_probability_percent": np.full(DAYS, np.nan),
        "tmin_c": np.full(DAYS, 15.0),
        "is_forecast": np.ones(DAYS, dtype=bool),
        "is_shut": np.zeros(DAYS, dtype=bool),
    }
    return AheadDays(**{**values, **changes})


def on_days(values: dict[int, float], otherwise: float = 0.0) -> Any:
    array = np.full(DAYS, otherwise)
    for place, value in values.items():
        array[place] = value
    return array


def plan(
    limits: Any = FREE, past: Any = None, ahead: Any = None, treatments: Any = (), **changes: Any
) -> RunningPlan:
    """The plan of a zone on sand: 15 mm readily available of 30, need equal to ET0, even."""
    zone = make_zone(**{**SAND, **changes})
    return running_plan(
        zone, limits, past or make_past(), ahead or make_ahead(), treatments=treatments
    )


def watered(found: RunningPlan) -> list[int]:
    """The places of the days with water."""
    return [place for place, day in enumerate(found.days) if day.is_watered]


def day_codes(found: RunningPlan) -> list[str]:
    return [day.reasons[0].code for day in found.days]
