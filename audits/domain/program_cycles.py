"""Which starts of a program are one watering in cycles, with a soak after each."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import pairwise
from typing import Final

from audits.domain.found_program import DAYS_PER_WEEK, SEASONAL_PERCENT, FoundProgram

# Own estimate: on any soil a shorter pause is none.
LEAST_SOAK_MIN: Final = 10.0
# Common practice: cycles and their soaks are over within the calm hours before sunrise.
LONGEST_CYCLES_MIN: Final = 180
_MIN_PER_DAY: Final = 24 * 60


def are_cycles(program: FoundProgram, zone_id: Hashable, seasonal_percent: float) -> bool:
    """Return whether the starts of a program are cycles of one watering of a zone.

    They are if each comes after the run before it and a soak of the zone, and the last at most
    three hours after the first. A program that runs every day may have them over midnight.

    Parameters
    ----------
    program : with two starts or more; one start is no cycle.
    zone_id : the zone.
    seasonal_percent : the controller's seasonal adjustment [%], 0 to 300.

    References
    ----------
    Common practice of cycle and soak: one program, several starts, half an hour or an hour apart.
    """
    share = SEASONAL_PERCENT.number(seasonal_percent, field="seasonal_percent") / 100.0
    starts = _in_order(program)
    if len(starts) < 2 or starts[-1] - starts[0] > LONGEST_CYCLES_MIN:
        return False
    run_min = program.total_min * share
    soaked_min = program.minutes_of(zone_id) * share + LEAST_SOAK_MIN
    return all(later - start >= max(run_min, soaked_min) for start, later in pairwise(starts))


def watering_days_per_week(programs: Sequence[FoundProgram]) -> float:
    """Return on how many days of a mean week at least one of the programs runs.

    Which days a program by interval falls on is not known: each is as likely as the others.
    """
    return sum(1.0 - _part_without(programs, day) for day in range(DAYS_PER_WEEK))


def _part_without(programs: Sequence[FoundProgram], day: int) -> float:
    part = 1.0
    for program in programs:
        if program.weekdays is not None:
            part *= day not in program.weekdays
        else:
            part *= 1.0 - 1.0 / (program.interval_days or 1)
    return part


def _in_order(program: FoundProgram) -> list[int]:
    """Return the starts in minutes, of a daily program from the end of its longest pause on."""
    starts = sorted(start.hour * 60 + start.minute for start in program.start_times)
    if program.waterings_per_week < DAYS_PER_WEEK:
        return starts
    turns = [starts[k:] + [each + _MIN_PER_DAY for each in starts[:k]] for k in range(len(starts))]
    return min(turns, key=lambda turn: turn[-1] - turn[0])
