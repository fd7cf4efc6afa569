"""What one zone gets from a way of running a program, at its best and below it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from scheduling.domain.intervals import EVERY_DAY
from scheduling.domain.programs_patterns import (
    DayPattern,
    Gaps,
    days_in_period,
    waterings_a_week,
)
from scheduling.domain.programs_problem import (
    MIN_PER_DAY,
    ControllerAbility,
    ControllerTask,
    ProgramRules,
    ZoneKind,
    ZoneNeed,
)

LAST_START_MIN: Final = MIN_PER_DAY - 1
_ROUNDING: Final = 1e-9
_MIN_PER_H: Final = 60

Kinds = frozenset[ZoneKind]


@dataclass(frozen=True)
class Way:
    """How a program may run, but for the very days: kinds of zone, hours, starts and gaps.

    It begins at `opens_min` or later and has ended at `closes_min`, which lies above 1440 where it
    may run past midnight.
    """

    task: int
    kinds: Kinds
    opens_min: int
    closes_min: int
    starts: int
    gaps: Gaps

    @cached_property
    def weekly(self) -> float:
        """Watering days in a mean week."""
        return waterings_a_week(self.gaps)

    def longest_every_min(self) -> int:
        """The most minutes from one start to the next, of the same day or the next it runs on.

        All starts of a day come before its midnight.
        """
        most = MIN_PER_DAY * min(gap for gap, _ in self.gaps) // self.starts
        if self.starts == 1:
            return most
        return min(most, (LAST_START_MIN - self.opens_min) // (self.starts - 1))


@dataclass(frozen=True)
class Option:
    """A zone in a program that runs in some way: its steps at best and at least, and the cost.

    Each step less than the best costs `step_cost`; the first one, which may undo a rounding up,
    only `first_step_cost`.
    """

    best: int
    least: int
    cost: float
    first_step_cost: float
    step_cost: float

    def cost_below(self, steps: int) -> float:
        """Return the cost of so many steps less than the best."""
        if steps == 0:
            return self.cost
        return self.cost + self.first_step_cost + (steps - 1) * self.step_cost


@dataclass(frozen=True)
class Supplied:
    """What a depth a week comes to: what the plants can use of it, and what is missing or lost."""

    depth_mm: float
    shortfall_mm: float
    excess_mm: float


def usable_mm_week(zone: ZoneNeed, gaps: Gaps) -> float:
    """Return what the plants can use in a mean week: of each gap no more than the roots last."""
    days = sum(count * min(gap, zone.lasts_days) for gap, count in gaps)
    return zone.need_mm_week * days / days_in_period(gaps)


def stress_days_week(zone: ZoneNeed, gaps: Gaps) -> float:
    """Return the days of a mean week on which the roots are used up."""
    days = sum(count * max(gap - zone.lasts_days, 0.0) for gap, count in gaps)
    return 7 * days / days_in_period(gaps)


def supplied(zone: ZoneNeed, gaps: Gaps, watering_mm: float) -> Supplied:
    """Return what so much on each watering day comes to in a mean week [mm]."""
    depth = watering_mm * waterings_a_week(gaps)
    used = min(depth, usable_mm_week(zone, gaps))
    return Supplied(depth, zone.need_mm_week - used, depth - used)


def unserved_cost(zone: ZoneNeed) -> float:
    """Return what it costs to give a zone nothing."""
    return zone.ruling_weight * zone.need_mm_week


def option(
    zone: ZoneNeed, rules: ProgramRules, ability: ControllerAbility, way: Way
) -> Option | None:
    """Return the best that a way of running can do for a zone; None where it can do nothing.

    The cost is convex in the minutes, so the best step is one of the two beside the usable depth.
    """
    step = ability.minute_step
    least = math.ceil(ability.shortest_run_min / step)
    most = _most_steps(zone, rules, ability, way)
    if most < least:
        return None
    weight, usable_mm = zone.ruling_weight, usable_mm_week(zone, way.gaps)
    step_mm_week = zone.rate_mm_h * step / _MIN_PER_H * way.starts * way.weekly

    def cost(steps: int) -> float:
        used = min(depth := steps * step_mm_week, usable_mm)
        return weight * (zone.need_mm_week - used + depth - used)

    wanted = math.floor(usable_mm / step_mm_week + _ROUNDING)
    below, above = (min(max(steps, least), most) for steps in (wanted, wanted + 1))
    best = below if cost(below) <= cost(above) + _ROUNDING else above
    slope = weight * step_mm_week
    first = cost(best - 1) - cost(best) if best > least else slope
    return Option(best, least, cost(best), first, slope)


def _most_steps(zone: ZoneNeed, rules: ProgramRules, ability: ControllerAbility, way: Way) -> int:
    """The steps of one start that cycle, soil, caps, soak, hours and controller allow."""
    starts, soak = way.starts, math.ceil(zone.soak_min)
    depth_mm = min(zone.day_limit_mm, rules.daily_depth_cap_mm or math.inf)
    most_min = min(
        zone.longest_cycle_min,
        ability.longest_run_min,
        (rules.daily_minutes_cap or math.inf) / starts,
        depth_mm / zone.rate_mm_h * _MIN_PER_H / starts,
        (way.closes_min - way.opens_min - (starts - 1) * soak) / starts,
        way.longest_every_min() - soak,
    )
    return math.floor(most_min / ability.minute_step + _ROUNDING)


def ways_of(task: ControllerTask, number: int) -> dict[Way, list[DayPattern]]:
    """Return every way in which a program of this controller may run, and its day patterns.

    Kinds are kept apart, unless the controller has a single program. Fewer starts come first.
    """
    present = sorted({zone.kind for zone in task.zones})
    groups: list[Kinds] = [frozenset({kind}) for kind in present]
    if task.ability.programs == 1 and len(present) > 1:
        groups.append(frozenset(present))
    ways: dict[Way, list[DayPattern]] = {}
    patterns = list(task.ability.patterns())
    for kinds in groups:
        rules = [task.rules_for(kind) for kind in sorted(kinds)]
        hours = spans_of(rules)
        spans = [(one, span) for one in patterns for span in spans_on(one, rules, hours)]
        for starts in range(1, task.ability.starts_per_program + 1):
            for pattern, (opens, closes) in spans:
                way = Way(number, kinds, opens, closes, starts, pattern.gaps)
                ways.setdefault(way, []).append(pattern)
    return ways


def spans_of(rules: Sequence[ProgramRules]) -> list[tuple[int, int]]:
    """Return the stretches of a calendar day that all the rules allow [min]."""
    minutes = sorted(frozenset.intersection(*(one.minutes() for one in rules)))
    starts = [m for i, m in enumerate(minutes) if i == 0 or minutes[i - 1] != m - 1]
    ends = [m + 1 for i, m in enumerate(minutes) if m + 1 not in minutes[i + 1 : i + 2]]
    return list(zip(starts, ends, strict=True))


def allowed_days(rules: Sequence[ProgramRules]) -> tuple[frozenset[int], tuple[str, ...]]:
    """Return the weekdays that all the rules allow, and the parities that they ask for."""
    days = EVERY_DAY.intersection(*(one.allowed_weekdays for one in rules))
    return days, tuple(sorted({one.allowed_parity for one in rules if one.allowed_parity}))


def spans_on(
    pattern: DayPattern, rules: Sequence[ProgramRules], hours: list[tuple[int, int]]
) -> Iterator[tuple[int, int]]:
    """Yield the stretches on a day of the pattern; the last passes midnight where it may."""
    days, parities = allowed_days(rules)
    if len(parities) > 1 or not pattern.keeps_to(days, parities[0] if parities else None):
        return
    onwards = pattern.keeps_to(days, parities[0] if parities else None, later=1)
    for opens, closes in hours:
        passes = closes == MIN_PER_DAY and hours[0][0] == 0 and onwards
        yield opens, closes + hours[0][1] if passes else closes
