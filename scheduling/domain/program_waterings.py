"""What a controller's programs put on a zone, day by day."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audits.domain.found_program import SEASONAL_PERCENT, FoundProgram
from scheduling.domain.program_days import FIRST_MONDAY
from scheduling.domain.programs_patterns import ODD, DayPattern
from scheduling.domain.water_columns import Array
from scheduling.domain.water_events import cycle_losses

MONTHS: Final = 12
EVERY_MONTH: Final = frozenset(range(1, MONTHS + 1))

_WHOLE_PERCENT: Final = 100.0
_MIN_PER_H: Final = 60.0
_MIN_PER_DAY: Final = 24 * 60
_DAYS_PER_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class Surface:
    """What water meets: the rate of the zone [mm/h], basic intake [mm/h], what may stand [mm]."""

    rate_mm_h: float
    intake_mm_h: float
    accumulation_mm: float


@dataclass(frozen=True)
class DatedWaterings:
    """What came down on each day and what of it ran off, gross [mm]."""

    gross_mm: Array
    runoff_mm: Array
    soak_runoff_mm: Array


@dataclass(frozen=True, kw_only=True)
class DatedProgram:
    """A program by the calendar: its days, its starts, and what each start gives the zones [min].

    Intervals count from `program_days.FIRST_MONDAY`. `months` (1 to 12) are those in which it is
    set so; in the others it is off, or stands beside this one with other days.
    """

    days: DayPattern
    start_times: tuple[time, ...]
    zone_minutes: tuple[tuple[Hashable, float], ...]
    months: frozenset[int] = EVERY_MONTH

    def minutes_of(self, zone_id: Hashable) -> float:
        """Return how long one start runs a zone at 100 percent [min]; 0 for a foreign zone."""
        return dict(self.zone_minutes).get(zone_id, 0.0)


def dated_program(program: FoundProgram, anchor: date) -> DatedProgram:
    """Return a program as the calendar runs it; one by interval runs on the anchor."""
    every = program.interval_days
    if every is None:
        days = DayPattern(weekdays=tuple(sorted(program.weekdays or ())))
    else:
        days = DayPattern(every_days=every, first_day=(anchor - FIRST_MONDAY).days % every)
    return DatedProgram(
        days=days, start_times=program.start_times, zone_minutes=program.zone_minutes
    )


def dated_waterings(
    programs: Sequence[FoundProgram],
    zone_id: Hashable,
    dates: ArrayLike,
    *,
    seasonal_percent: float,
    since: date,
    surface: Surface,
) -> DatedWaterings:
    """Return what the programs of one setting put on a zone on each day.

    A program by interval runs on the day from which the setting holds, and every so many days on.

    Parameters
    ----------
    programs : every program of the setting, leftover ones too.
    zone_id : the zone; a program that does not name it gives it nothing.
    dates : the days, in any order.
    seasonal_percent : the controller's seasonal adjustment [%], 0 to 300.
    since : the day from which the setting holds; before it nothing runs.
    surface : rate, intake and what may stand.
    """
    percent = SEASONAL_PERCENT.number(seasonal_percent, field="seasonal_percent")
    held = waterings_by_month(
        [dated_program(program, since) for program in programs],
        zone_id,
        dates,
        monthly_percent=(percent,) * MONTHS,
        surface=surface,
    )
    has_begun = np.asarray(dates, dtype="datetime64[D]") >= np.datetime64(since, "D")
    return DatedWaterings(*(values * has_begun for values in vars(held).values()))


def waterings_by_month(
    programs: Sequence[DatedProgram],
    zone_id: Hashable,
    dates: ArrayLike,
    *,
    monthly_percent: Sequence[float],
    surface: Surface,
) -> DatedWaterings:
    """Return what programs put on a zone on each day, by the percentage of its month.

    The starts of a program are its cycles; the shortest pause between two of them is the soak.

    Parameters
    ----------
    programs : see there; those of one month run side by side.
    zone_id : the zone; a program that does not name it gives it nothing.
    dates : the days, in any order.
    monthly_percent : by how much the minutes are scaled, January to December [%], 0 or more.
    surface : rate, intake and what may stand.
    """
    days = np.asarray(dates, dtype="datetime64[D]")
    month = days.astype("datetime64[M]").astype(np.int64) % MONTHS
    total = np.zeros((3, days.size))
    for program in programs:
        minutes = program.minutes_of(zone_id)
        if minutes:
            by_month = _by_month(program, minutes, monthly_percent, surface)
            total += by_month[:, month] * _runs_on(program.days, days)
    return DatedWaterings(*total)


def _by_month(
    program: DatedProgram, minutes: float, monthly_percent: Sequence[float], surface: Surface
) -> Array:
    """Return depth, runoff and soak runoff of a day on which it runs [mm], 3 x 12."""
    is_set = np.isin(np.arange(1, MONTHS + 1), sorted(program.months))
    run_min = minutes * np.asarray(monthly_percent, dtype=np.float64) * is_set / _WHOLE_PERCENT
    starts = len(program.start_times)
    losses = cycle_losses(
        starts,
        run_min,
        np.maximum(_shortest_gap_min(program.start_times) - run_min, 0.0),
        rate_mm_h=surface.rate_mm_h,
        intake_mm_h=surface.intake_mm_h,
        accumulation_mm=surface.accumulation_mm,
    )
    gross_mm = starts * run_min * surface.rate_mm_h / _MIN_PER_H
    return np.array([gross_mm, losses.runoff_mm, losses.soak_runoff_mm])


def _shortest_gap_min(starts: Sequence[time]) -> float:
    """Return the minutes from one start to the next, of the two that are closest."""
    minutes = sorted(start.hour * 60 + start.minute for start in starts)
    gaps = np.diff([*minutes, minutes[0] + _MIN_PER_DAY])
    return float(gaps.min())


def _runs_on(pattern: DayPattern, days: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    after_monday = (days - np.datetime64(FIRST_MONDAY, "D")).astype(np.int64)
    if pattern.every_days is not None:
        return np.asarray(after_monday % pattern.every_days == pattern.first_day)
    if pattern.parity is not None:
        before = (days - days.astype("datetime64[M]").astype("datetime64[D]")).astype(np.int64)
        return np.asarray(before % 2 == (pattern.parity != ODD))
    return np.isin(after_monday % _DAYS_PER_WEEK, pattern.weekdays)
