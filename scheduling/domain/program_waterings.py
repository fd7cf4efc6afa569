"""What a controller's programs put on a zone, day by day."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audits.domain.found_program import SEASONAL_PERCENT, FoundProgram
from scheduling.domain.water_columns import Array
from scheduling.domain.water_events import cycle_losses

_MIN_PER_H: Final = 60.0
_MIN_PER_DAY: Final = 24 * 60
_DAYS_PER_WEEK: Final = 7
_MONDAY: Final = np.datetime64("1970-01-05", "D")


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

    The starts of a program are its cycles; the shortest pause between two of them is the soak. A
    program by interval runs on the day from which the setting holds, and every so many days on.

    Parameters
    ----------
    programs : every program of the setting, leftover ones too.
    zone_id : the zone; a program that does not name it gives it nothing.
    dates : the days, in any order.
    seasonal_percent : the controller's seasonal adjustment [%], 0 to 300.
    since : the day from which the setting holds; before it nothing runs.
    surface : rate, intake and what may stand.
    """
    days = np.asarray(dates, dtype="datetime64[D]")
    share = SEASONAL_PERCENT.number(seasonal_percent, field="seasonal_percent") / 100.0
    total = np.zeros((3, days.size))
    for program in programs:
        run_min = program.minutes_of(zone_id) * share
        total += np.outer(_one_day(program, run_min, surface), _runs_on(program, days, since))
    return DatedWaterings(*total)


def _one_day(program: FoundProgram, run_min: float, surface: Surface) -> NDArray[np.float64]:
    """Return gross depth, runoff and soak runoff of a day on which the program runs [mm]."""
    starts = len(program.start_times)
    losses = cycle_losses(
        starts,
        run_min,
        max(0.0, _shortest_gap_min(program.start_times) - run_min),
        rate_mm_h=surface.rate_mm_h,
        intake_mm_h=surface.intake_mm_h,
        accumulation_mm=surface.accumulation_mm,
    )
    gross_mm = starts * run_min * surface.rate_mm_h / _MIN_PER_H
    return np.array([gross_mm, float(losses.runoff_mm), float(losses.soak_runoff_mm)])


def _shortest_gap_min(starts: Sequence[time]) -> float:
    """Return the minutes from one start to the next, of the two that are closest."""
    minutes = sorted(start.hour * 60 + start.minute for start in starts)
    gaps = np.diff([*minutes, minutes[0] + _MIN_PER_DAY])
    return float(gaps.min())


def _runs_on(program: FoundProgram, days: NDArray[np.datetime64], since: date) -> NDArray[np.bool_]:
    begun = days >= np.datetime64(since, "D")
    if program.interval_days is not None:
        elapsed = (days - np.datetime64(since, "D")).astype(np.int64)
        return np.asarray(begun & (elapsed % program.interval_days == 0))
    weekday = (days - _MONDAY).astype(np.int64) % _DAYS_PER_WEEK
    return np.asarray(begun & np.isin(weekday, sorted(program.weekdays or ())))
