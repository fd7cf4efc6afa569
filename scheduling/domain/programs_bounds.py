"""What no fit can undercut when hours are short, and which ways come near it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.intervals import WEEK
from scheduling.domain.programs_assign import Assignment, Groups, Menu, assign
from scheduling.domain.programs_linear import Deadline
from scheduling.domain.programs_options import allowed_days, spans_of
from scheduling.domain.programs_patterns import DayPattern, waterings_a_week
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_problem import ProgramRules

MOST_PRICES: Final = 9  # tried for the minutes of one limit
_NEAR: Final = 1e-4


@dataclass(frozen=True)
class Relaxation:
    """A cost that no fit undercuts, the prices of each zone's minutes, and how zones share then."""

    bound: float
    prices: NDArray[np.float64]
    groups: Groups


@dataclass(frozen=True)
class _Limit:
    """Zones that run one at a time, and the minutes of a mean week that they may run in."""

    zones: NDArray[np.bool_]
    week_min: float


@dataclass(frozen=True)
class _Tangent:
    """The bound at a price of a limit's minutes, and how it rises with the price."""

    price: float
    bound: float
    slope: float
    groups: Groups

    def meeting(self, other: _Tangent) -> tuple[float, float]:
        """Return price and height where the tangents of two prices meet."""
        rise = other.bound - other.slope * other.price - self.bound + self.slope * self.price
        price = rise / (self.slope - other.slope)
        return price, self.bound + self.slope * (price - self.price)


def weekly_relaxation(menu: Menu, free: Assignment, turns: Turns, deadline: Deadline) -> Relaxation:
    """Return a bound: all runs of a mean week take no more minutes than the rules allow.

    The minutes get a price, so that they need not be counted (Lagrangian relaxation): whatever the
    price, the sharing out that is cheapest with it, less the price of all minutes allowed, is a
    bound. The best price is looked for, one limit after the other; the bound is concave in it.

    References
    ----------
    Geoffrion, A. M. (1974): Lagrangean relaxation for integer programming (from memory).
    """
    prices, paid = np.zeros(len(menu.clients)), 0.0
    bound, groups = free.bound, free.groups
    for limit in _limits(menu, turns):
        found = list(_tangents(menu, limit, (prices, paid), deadline))
        best = max(found, key=lambda tangent: tangent.bound)
        prices = prices + best.price * limit.zones
        paid += best.price * limit.week_min
        if best.bound > bound:
            bound, groups = best.bound, best.groups
    return Relaxation(bound, prices, groups)


def _tangents(
    menu: Menu, limit: _Limit, others: tuple[NDArray[np.float64], float], deadline: Deadline
) -> Iterator[_Tangent]:
    """Yield tangents ever nearer to the best price: where the last two about it meet."""
    prices, paid = others

    def at(price: float) -> _Tangent:
        shared = assign(menu, deadline, prices + price * limit.zones)
        used = float(shared.minutes[limit.zones].sum())
        bound = shared.bound - paid - price * limit.week_min
        return _Tangent(price, bound, used - limit.week_min, shared.groups)

    low, high = at(0.0), at(_dearest(menu, limit))
    yield from (low, high)
    for _ in range(MOST_PRICES):
        if low.slope <= 0 or high.slope >= 0 or deadline.is_over:
            return
        price, height = low.meeting(high)
        if height - max(low.bound, high.bound) <= _NEAR * (1.0 + height):
            return
        middle = at(price)
        yield middle
        low, high = (middle, high) if middle.slope > 0 else (low, middle)


def _dearest(menu: Menu, limit: _Limit) -> float:
    """A price at which no minute is worth running."""
    zones = (menu.clients[client].zone for client in np.flatnonzero(limit.zones))
    return max(zone.ruling_weight * zone.rate_mm_h / 60 for zone in zones)


def _limits(menu: Menu, turns: Turns) -> Iterator[_Limit]:
    """Yield the limits on minutes: of all that take turns together, of a kind, of both kinds."""
    tasks = range(len(menu.tasks))
    crowds: list[tuple[int, ...]] = [(task,) for task in tasks]
    if len(tasks) > 1 and all(turns(one, other) for one, other in combinations(tasks, 2)):
        crowds.insert(0, tuple(tasks))
    for members in crowds:
        kinds = sorted({each.zone.kind for each in menu.clients if each.task in members})
        for some in [[kind] for kind in kinds if len(kinds) > 1] + [kinds]:
            zones = [each.task in members and each.zone.kind in some for each in menu.clients]
            rules = [menu.tasks[task].rules_for(kind) for task in members for kind in some]
            if any(zones):
                yield _Limit(np.array(zones), _minutes_a_week(rules))


def _minutes_a_week(rules: Sequence[ProgramRules]) -> float:
    """The minutes of a mean week that at least one of the rules allows, or a little more."""
    if any(one.allowed_parity for one in rules):
        return min(math.fsum(_own_minutes(one) for one in rules), WEEK * _minutes(rules))
    days = ([one for one in rules if day in one.allowed_weekdays] for day in range(WEEK))
    return math.fsum(_minutes(allowing) for allowing in days)


def _minutes(rules: Sequence[ProgramRules]) -> int:
    return len(frozenset[int]().union(*(one.minutes() for one in rules)))


def _own_minutes(rule: ProgramRules) -> float:
    days, parities = allowed_days([rule])
    minutes = sum(closes - opens for opens, closes in spans_of([rule]))
    if parities:
        return minutes * waterings_a_week(DayPattern(parity=parities[0]).gaps)
    return minutes * len(days)
