"""What watering rules would have let a zone have on past days, if they had held then."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.dated_rules import DayRules
from scheduling.domain.replay_schedules import ReplayZone
from scheduling.domain.water_columns import Array
from scheduling.domain.watering import day_gross_limit


@dataclass(frozen=True)
class DayLimits:
    """Whether a zone may be watered on each day, and the most of such a day, gross [mm]."""

    may_water: NDArray[np.bool_]
    most_mm: Array


def day_limits(zone: ReplayZone, days: Sequence[dt.date]) -> DayLimits:
    """Return what soil, controller and rules let a zone have on each day.

    Parameters
    ----------
    zone : its limits may know rules of dates.
    days : the dates.
    """
    by_date = zone.limits.by_date or {}
    known: dict[DayRules | None, float] = {}
    for day in days:
        rules = by_date.get(day)
        if rules not in known:
            known[rules] = day_gross_limit(zone.facts, zone.limits.on(day)).value
    return DayLimits(
        may_water=np.array([zone.limits.allows(day) for day in days], dtype=np.bool_),
        most_mm=np.array([known[by_date.get(day)] for day in days]),
    )


def rules_of_past(
    coming: Mapping[dt.date, DayRules], days: Sequence[dt.date], on: dt.date
) -> dict[dt.date, DayRules]:
    """Return the rules of past days: those of the days like them in the twelve months to come.

    Parameters
    ----------
    coming : the rules of all days of those months, as `year_to_come` begins them.
    days : past dates.
    on : the day from which is planned.
    """
    return {day: coming[like_day(day, on)] for day in days}


def year_to_come(on: dt.date) -> dt.date:
    """Return the first day of the twelve months to come; the present one is the first of them."""
    return on.replace(day=1)


def like_day(day: dt.date, on: dt.date) -> dt.date:
    """Return the date of the twelve months to come that rules would treat as a past one.

    It is of the same month, weekday and parity, for those are what rules go by; of such dates the
    nearest, so that a season that begins within a month begins in the same week.

    Parameters
    ----------
    day : a past date.
    on : the day from which is planned.
    """
    year = on.year + (day.month < on.month)
    last = calendar.monthrange(year, day.month)[1]
    dates = (dt.date(year, day.month, number) for number in range(1, last + 1))
    alike = [
        date for date in dates
        if date.weekday() == day.weekday() and date.day % 2 == day.day % 2
    ]  # fmt: skip
    return min(alike, key=lambda date: abs(date.day - day.day))
