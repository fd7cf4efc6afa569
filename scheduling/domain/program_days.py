"""The days of a program as data, in words, and by the calendar."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any, Final

from scheduling.domain.intervals import EVERY_DAY
from scheduling.domain.programs import DayPattern
from scheduling.domain.setting_words import OFF

DAILY: Final = "daily"
# A Monday from which the days of all intervals are counted, so that programs keep out of each
# other's way.
FIRST_MONDAY: Final = dt.date(2024, 1, 1)
_DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_DAYS_TRIED: Final = 31


def days_data(pattern: DayPattern | None) -> dict[str, Any] | None:
    """Return a pattern as it is stored; None is off."""
    if pattern is None:
        return None
    return {
        "weekdays": list(pattern.weekdays), "every_days": pattern.every_days,
        "first_day": pattern.first_day, "parity": pattern.parity,
    }  # fmt: skip


def pattern_of(data: Mapping[str, Any] | None) -> DayPattern | None:
    """Return a stored pattern."""
    return None if data is None else DayPattern(**{**data, "weekdays": tuple(data["weekdays"])})


def days_words(pattern: DayPattern | None) -> str:
    """Return the days as short as they fit a line: daily; Tue, Sat; every 3 days; odd dates."""
    if pattern is None:
        return OFF
    if pattern.every_days == 1 or set(pattern.weekdays) == EVERY_DAY:
        return DAILY
    if pattern.weekdays:
        return ", ".join(_DAYS[day] for day in sorted(pattern.weekdays))
    return pattern.words


def first_date(pattern: DayPattern | None, on: dt.date) -> dt.date | None:
    """Return from which date to count an interval: its first at or after a day; else None."""
    if pattern is None or pattern.every_days in (None, 1):
        return None
    days = (on + dt.timedelta(days=ahead) for ahead in range(_DAYS_TRIED))
    return next(day for day in days if pattern.may_run_on((day - FIRST_MONDAY).days))
