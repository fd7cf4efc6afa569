"""Which starts of a controller come while another start still runs its zones."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import time
from itertools import combinations_with_replacement

from audits.domain.found_program import DAYS_PER_WEEK, SEASONAL_PERCENT, FoundProgram

MIN_PER_DAY = 24 * 60


@dataclass(frozen=True)
class Overlap:
    """Two starts of which the second comes before the first has run all its zones.

    `run_min` is how long the first runs [min], at the seasonal percentage, and `gap_min` how long
    after it the second starts [min], perhaps on a later day.
    """

    first: FoundProgram
    first_start: time
    second: FoundProgram
    second_start: time
    run_min: float
    gap_min: int


def overlaps(programs: Sequence[FoundProgram], seasonal_percent: float) -> tuple[Overlap, ...]:
    """Return for each pair of programs the closest two starts that are certain to overlap.

    Parameters
    ----------
    programs : every program of a controller. A program pairs with itself too, over its own starts
        and over one start on two of its days.
    seasonal_percent : the controller's seasonal adjustment [%], 0 to 300; exact minutes are taken,
        unrounded.

    Returns
    -------
    the overlaps, at most one for each pair of programs. A run that ends in the minute in which
    another starts does not overlap it. Which days a program by interval falls on is not known:
    it meets another program only where it must, whenever it began.
    """
    share = SEASONAL_PERCENT.number(seasonal_percent, field="seasonal_percent") / 100.0
    running = [program for program in programs if program.total_min * share > 0]
    closest = (
        min(_overlaps_of(*pair, share), key=lambda overlap: overlap.gap_min, default=None)
        for pair in combinations_with_replacement(running, 2)
    )
    return tuple(overlap for overlap in closest if overlap is not None)


def _overlaps_of(one: FoundProgram, other: FoundProgram, share: float) -> Iterator[Overlap]:
    yield from _runs_into(one, other, share)
    if one is not other:
        yield from _runs_into(other, one, share)


def _runs_into(first: FoundProgram, second: FoundProgram, share: float) -> Iterator[Overlap]:
    run_min = first.total_min * share
    for first_start in first.start_times:
        for second_start in second.start_times:
            for gap_min in _gaps(first_start, second_start, run_min):
                days_later = (_minute(first_start) + gap_min) // MIN_PER_DAY
                is_itself = gap_min == 0 and first is second
                if not is_itself and _must_meet(first, second, days_later):
                    yield Overlap(first, first_start, second, second_start, run_min, gap_min)


def _gaps(first: time, second: time, run_min: float) -> range:
    """Yield how long after the first start the second comes round while the first runs [min]."""
    gap_min = (_minute(second) - _minute(first)) % MIN_PER_DAY
    return range(gap_min, math.ceil(run_min), MIN_PER_DAY)


def _minute(start: time) -> int:
    return start.hour * 60 + start.minute


def _must_meet(first: FoundProgram, second: FoundProgram, days_later: int) -> bool:
    """Whether the second is sure to run some day that many days after a day of the first."""
    if first.weekdays is not None and second.weekdays is not None:
        later = {(day + days_later) % DAYS_PER_WEEK for day in first.weekdays}
        return bool(later & second.weekdays)
    if first is second:
        return days_later % (first.interval_days or 1) == 0
    return _meet_whenever_they_began(first, second)


def _meet_whenever_they_began(first: FoundProgram, second: FoundProgram) -> bool:
    """Whether two programs, one of them by interval, meet on any phase.

    Days of the form a + m i and b + n j meet for every a and b exactly where m and n have no
    common divisor (Chinese remainder theorem); a full week meets everything.
    """
    cycles = [program.interval_days or DAYS_PER_WEEK for program in (first, second)]
    if math.gcd(*cycles) == 1:
        return True
    every_day = frozenset(range(DAYS_PER_WEEK))
    return any(program.weekdays == every_day for program in (first, second))
