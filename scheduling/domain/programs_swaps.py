"""Better programs, one changed at a time; prices of hours tell which change is worth trying."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.programs_assign import Groups, Menu
from scheduling.domain.programs_linear import Deadline
from scheduling.domain.programs_options import Way
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_problem import MIN_PER_DAY
from scheduling.domain.programs_timed import MOST_DAYS, Config, Hours, TimedModel, days_of

TRIES_AT_ONCE: Final = 5
MOST_TRIES: Final = 15
MOST_WAYS: Final = 80
MOST_STARTS: Final = 24
DECIMALS: Final = 6
_ROUNDING: Final = 1e-6


@dataclass(frozen=True)
class Rated:
    """Some programs, by number among all, what they cost at least, and what hours are worth then.

    `prices` holds for all programs what a minute of a watering day would cost, by those hours.
    """

    chosen: tuple[int, ...]
    cost: float
    prices: NDArray[np.float64]


@dataclass(frozen=True)
class Swaps:
    """A search among sets of programs, each as many as the controllers can hold.

    A set is rated by its relaxed model, zones in fractions: hardly cheaper than in whole numbers,
    since no more zones than hours run short are ever divided.
    """

    menu: Menu
    configs: Sequence[Config]
    turns: Turns
    seen: set[frozenset[int]] = field(default_factory=set)

    @cached_property
    def days(self) -> NDArray[np.float64]:
        """Whether each program (row) runs on a day (column)."""
        return np.array([days_of(pattern)[:MOST_DAYS] for _, pattern in self.configs], dtype=float)

    @cached_property
    def rows(self) -> NDArray[np.int64]:
        """The row of each program in the table of the menu."""
        at = {way: row for row, way in enumerate(self.menu.table.ways)}
        return np.array([at[way] for way, _ in self.configs])

    @cached_property
    def hours(self) -> NDArray[np.float64]:
        """The controller of each program, and the hours that it may run in."""
        ways = (way for way, _ in self.configs)
        return np.array([(way.task, way.opens_min, way.closes_min) for way in ways], dtype=float)

    @cached_property
    def day_minutes(self) -> NDArray[np.float64]:
        """The minutes of each way (row) and zone on a watering day."""
        weekly = np.array([way.weekly for way in self.menu.table.ways])
        per_day: NDArray[np.float64] = self.menu.table.minutes / weekly[:, np.newaxis]
        return per_day

    def reached(
        self, groups: Groups, prices: NDArray[np.float64], deadline: Deadline
    ) -> Iterator[Rated]:
        """Yield the best of many starts, then sets that no change of one program betters.

        The starts are ways that cost least at prices of minutes which are the same on all days; the
        days are chosen apart.
        """
        table, unserved = self.menu.table, np.array(self.menu.unserved)
        costs = np.minimum((table.costs + prices * table.minutes).min(axis=0), unserved)
        rows = [table.ways.index(way) for way in groups]
        sets = (self._spread(start, costs, prices) for start in self._starts(costs, rows))
        half = deadline.part(0.5)
        rated = [one for each in sets if (one := self._rated(each, half)) is not None]
        rated.sort(key=lambda one: one.cost)
        yield from rated[:1]
        for start in rated:
            yield self._descended(start, deadline)

    def _starts(self, costs: NDArray[np.float64], rows: Sequence[int]) -> list[tuple[int, ...]]:
        """Sets of ways with up to two changed for others, by number; the cheapest come first."""
        found = {tuple(sorted(rows)): -np.inf} if rows else {}
        places = [*_places(self.menu, self.menu.table.ways, rows)]
        for one, other in combinations(places, 2) if len(places) > 1 else [places * 2]:
            stay = [row for row in rows if row not in (one[1], other[1])]
            floor = np.min([np.array(self.menu.unserved), *costs[stay]], axis=0)
            first, second = (self._cheap(costs, floor, task) for task in (one[0], other[0]))
            both = np.minimum(costs[first][:, np.newaxis], costs[second][np.newaxis])
            sums = np.minimum(both, floor).sum(axis=2)
            for at in np.argsort(sums, axis=None, kind="stable")[: 2 * MOST_STARTS]:
                i, j = np.unravel_index(at, sums.shape)
                changed = tuple(sorted([*stay, int(first[i]), int(second[j])]))
                found.setdefault(changed, round(float(sums[i, j]), DECIMALS))
        return sorted(found, key=lambda each: (found[each], each))[:MOST_STARTS]

    def _cheap(
        self, costs: NDArray[np.float64], floor: NDArray[np.float64], task: int
    ) -> NDArray[np.int64]:
        """The ways of a controller that do most beside what costs each zone so much already."""
        mine = np.flatnonzero([way.task == task for way in self.menu.table.ways])
        sums = np.minimum(costs[mine], floor).sum(axis=1)
        return mine[np.argsort(sums, kind="stable")[:MOST_WAYS]]

    def _spread(
        self, rows: tuple[int, ...], costs: NDArray[np.float64], prices: NDArray[np.float64]
    ) -> tuple[int, ...]:
        """Return programs that run in the given ways, on days that keep apart where they can."""
        which = (self.menu.table.costs + prices * self.menu.table.minutes)[:, rows].argmin(axis=0)
        served = costs[list(rows)].argmin(axis=0)
        minutes = np.take_along_axis(self.day_minutes[:, rows], which[np.newaxis], axis=0)[0]
        load = np.zeros(MOST_DAYS)
        chosen = []
        for place, row in enumerate(rows):
            mine = np.flatnonzero(self.rows == row)
            best = mine[np.argmin(self.days[mine] @ load)]
            load += self.days[best] * minutes[place][served == place].sum()
            chosen.append(int(best))
        return tuple(chosen)

    def _descended(self, now: Rated, deadline: Deadline) -> Rated:
        """The best set that is reached by changing one program at a time."""
        while not deadline.is_over:
            better = self._better(now, deadline)
            if better is None:
                break
            now = better
        return now

    def _better(self, now: Rated, deadline: Deadline) -> Rated | None:
        """The best of a handful that the prices commend, where one of them is better."""
        fresh = (one for one in self._commended(now) if frozenset(one) not in self.seen)
        tries = islice(fresh, MOST_TRIES)
        while handful := list(islice(tries, TRIES_AT_ONCE)):
            rated = [one for each in handful if (one := self._rated(each, deadline)) is not None]
            best = min(rated, key=lambda one: one.cost, default=now)
            if best.cost < now.cost - _ROUNDING:
                return best
        return None

    def _rated(self, chosen: tuple[int, ...], deadline: Deadline) -> Rated | None:
        self.seen.add(frozenset(chosen))
        timed = TimedModel(self.menu, [self.configs[number] for number in chosen], self.turns)
        solution = timed.model.solve_relaxed(deadline)
        if solution.prices is None:
            return None
        prices = np.zeros(len(self.configs))
        for crowd in timed.crowds:
            if (price := solution.prices[crowd.row]) > _ROUNDING:
                for shift in (0, 1):
                    days = (crowd.days + shift) % MOST_DAYS
                    often = self.days[:, days].mean(axis=1)
                    prices += self._held(crowd.hours, shift) * often * price
        return Rated(chosen, solution.bound, prices)

    def _held(self, hours: Hours, shift: int) -> NDArray[np.bool_]:
        """Whether the hours hold each program, of this day or of the next."""
        task, opens, closes = self.hours.T
        later = shift * MIN_PER_DAY
        held: NDArray[np.bool_] = (hours.opens_min <= opens + later) & (
            closes + later <= hours.closes_min
        )
        return held if hours.task is None else held & (task == hours.task)

    def _commended(self, now: Rated) -> Iterator[tuple[int, ...]]:
        """Yield sets with one program changed or added, the likely best first."""
        table, unserved = self.menu.table, np.array(self.menu.unserved)
        costs = np.minimum(
            (
                table.costs[:, self.rows]
                + now.prices[:, np.newaxis] * self.day_minutes[:, self.rows]
            ).min(axis=0),
            unserved,
        )
        found = []
        ways = [way for way, _ in self.configs]
        for task, leaving in dict.fromkeys(_places(self.menu, ways, now.chosen)):
            stay = tuple(number for number in now.chosen if number != leaving)
            floor = np.min([unserved, *costs[list(stay)]], axis=0)
            mine = np.flatnonzero(self.hours[:, 0] == task)
            estimates = np.minimum(costs[mine], floor).sum(axis=1)
            order = np.argsort(estimates, kind="stable")
            _, firsts = np.unique(self.rows[mine[order]], return_index=True)
            found += [(estimates[order[i]], (*stay, int(mine[order[i]]))) for i in firsts]
        return (chosen for _, chosen in sorted(found))


def _places(
    menu: Menu, ways: Sequence[Way], chosen: Sequence[int]
) -> Iterator[tuple[int, int | None]]:
    """Yield each controller with a program that may leave, or None for one that it can add."""
    for number, task in enumerate(menu.tasks):
        mine = [one for one in chosen if ways[one].task == number]
        yield from ((number, one) for one in mine)
        yield from [(number, None)] * (task.ability.programs - len(mine))
