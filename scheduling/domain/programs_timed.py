"""The same choice with the hours counted: programs on real days, one after the other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.programs_assign import Chosen, Menu, Serving
from scheduling.domain.programs_linear import Deadline, LinearModel
from scheduling.domain.programs_options import LAST_START_MIN, Option, Way
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_problem import MIN_PER_DAY

_CHOSEN: Final = 0.5
MOST_DAYS: Final = 42  # most common periods of intervals; what it misses is forbidden later
_FAR: Final = 4.0 * MIN_PER_DAY  # no begin or end lies further from another

Config = tuple[Way, DayPattern]
Terms = dict[int, float]


@lru_cache(maxsize=4096)
def days_of(pattern: DayPattern) -> tuple[bool, ...]:
    """Return whether a program may run, for `MOST_DAYS` and one more."""
    return tuple(pattern.may_run_on(day) for day in range(MOST_DAYS + 1))


@dataclass(frozen=True)
class _Place:
    """The columns of one program that may be chosen, and its minutes as sums of columns."""

    used: int
    run: Terms
    every: int
    takes: dict[int, tuple[int, tuple[int, ...]]]

    def length(self, starts: int) -> Terms:
        return {**self.run, self.every: starts - 1.0} if starts > 1 else dict(self.run)


@dataclass(frozen=True)
class Hours:
    """A stretch of hours of a controller, None of all that take turns [min from midnight on]."""

    task: int | None
    opens_min: int
    closes_min: int

    def shifts(self, way: Way) -> list[int]:
        """Return of which days' programs, 0 this day's and 1 the next's, it holds all runs."""
        if self.task not in (None, way.task):
            return []
        return [
            shift
            for shift in (0, 1)
            if self.opens_min <= way.opens_min + shift * MIN_PER_DAY
            and way.closes_min + shift * MIN_PER_DAY <= self.closes_min
        ]


@dataclass(frozen=True)
class Crowd:
    """The row that lets the programs of some days fit into their hours."""

    row: int
    hours: Hours
    days: NDArray[np.intp]


@dataclass
class TimedModel:
    """Programs to choose from, and their lengths; what breaks a rule is forbidden when it shows."""

    menu: Menu
    configs: Sequence[Config]
    turns: Turns
    model: LinearModel = field(default_factory=LinearModel)
    places: list[_Place] = field(default_factory=list)
    crowds: list[Crowd] = field(default_factory=list)
    begins: dict[int, int] = field(default_factory=dict)
    ordered: set[tuple[int, int]] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.places = [self._place(way) for way, _ in self.configs]
        self._serve_each_once()
        self._keep_to_programs()
        self._fill_days()

    def _place(self, way: Way) -> _Place:
        model, step = self.model, self.menu.tasks[way.task].ability.minute_step
        used = model.column()
        every = model.column(high=way.longest_every_min(), whole=False)
        run: Terms = {}
        takes = {}
        for number, one in self.menu.options[way].items():
            take, less = self._take(used, one)
            minutes = {take: float(step * one.best), **{column: -float(step) for column in less}}
            run |= minutes
            takes[number] = (take, less)
            soak = math.ceil(self.menu.clients[number].zone.soak_min)
            model.row({**minutes, take: minutes[take] + soak, every: -1.0}, 0.0)
        place = _Place(used, run, every, takes)
        model.row({**run, every: -1.0}, 0.0)
        model.row({every: 1.0, used: -float(way.longest_every_min())}, 0.0)
        room = way.closes_min - way.opens_min
        model.row({**place.length(way.starts), used: -float(room)}, 0.0)
        return place

    def _take(self, used: int, one: Option) -> tuple[int, tuple[int, ...]]:
        """A zone in a program; one column for its first step less, one for all further steps."""
        model = self.model
        take = model.column(one.cost)
        model.row({take: 1.0, used: -1.0}, 0.0)
        spare = one.best - one.least
        less = []
        for most, cost in ((min(spare, 1), one.first_step_cost), (spare - 1, one.step_cost)):
            if most > 0:
                less.append(model.column(cost, high=most))
                model.row({less[-1]: 1.0, take: -float(most)}, 0.0)
        return take, tuple(less)

    def _serve_each_once(self) -> None:
        for number, cost in enumerate(self.menu.unserved):
            terms = {p.takes[number][0]: 1.0 for p in self.places if number in p.takes}
            self.model.row({**terms, self.model.column(cost): 1.0}, 1.0, low=1.0)

    def _keep_to_programs(self) -> None:
        for number, task in enumerate(self.menu.tasks):
            terms = {
                place.used: 1.0
                for place, (way, _) in zip(self.places, self.configs, strict=True)
                if way.task == number
            }
            self.model.row(terms, task.ability.programs)

    def _fill_days(self) -> None:
        """All programs that share a stretch of hours fit into it, one after the other."""
        said: set[tuple[int, ...]] = set()
        runs = np.array([days_of(pattern) for _, pattern in self.configs])
        for hours in self._stretches():
            shifts = [hours.shifts(way) for way, _ in self.configs]
            today, next_day = (np.array([[day in its] for its in shifts]) for day in (0, 1))
            come = (runs[:, :-1] & today) | (runs[:, 1:] & next_day)
            sets, which = np.unique(come, axis=1, return_inverse=True)
            for number, members in enumerate(sets.T):
                crowd = tuple(np.flatnonzero(members).tolist())
                if crowd and crowd not in said:
                    said.add(crowd)
                    row = self._fit_together(crowd, hours.closes_min - hours.opens_min)
                    days = np.flatnonzero(which.ravel() == number)
                    self.crowds.append(Crowd(row, hours, days))

    def _stretches(self) -> list[Hours]:
        """The hours of all programs, of each controller or of all in turn, short ones first."""
        tasks = range(len(self.menu.tasks))
        all_turn = all(self.turns(i, j) for i, j in combinations(tasks, 2))
        ways = [way for way, _ in self.configs]
        found = {
            Hours(None if all_turn else way.task, way.opens_min, way.closes_min) for way in ways
        }
        return sorted(found, key=lambda one: (one.closes_min - one.opens_min, str(one)))

    def _fit_together(self, numbers: Sequence[int], room_min: int) -> int:
        terms: Terms = {}
        for number in numbers:
            terms |= self.places[number].length(self.configs[number][0].starts)
        return self.model.row(terms, room_min)

    def read(self, values: Sequence[float]) -> dict[int, Chosen]:
        """Return the programs that the solver has chosen, by their number among the configs."""
        chosen = {}
        for number, ((way, pattern), place) in enumerate(
            zip(self.configs, self.places, strict=True)
        ):
            servings = tuple(
                Serving(
                    client,
                    self.menu.options[way][client].best
                    - sum(round(values[column]) for column in less),
                )
                for client, (take, less) in place.takes.items()
                if values[take] > _CHOSEN
            )
            if servings:
                chosen[number] = Chosen(way, pattern, servings)
        return chosen

    def forbid(self, chosen: dict[int, Chosen]) -> bool:
        """Add the rules that these programs break; False when all is said."""
        added = False
        for size in range(2, len(chosen) + 1):
            for numbers in combinations(chosen, size):
                added |= self._forbid_crowd(numbers, chosen)
        return added or self._order(list(chosen))

    def _forbid_crowd(self, numbers: tuple[int, ...], chosen: dict[int, Chosen]) -> bool:
        """All pairs meet on some day, so the lengths add up within the hours of all."""
        if not all(self._clash(i, j) for i, j in combinations(numbers, 2)):
            return False
        ways = [self.configs[number][0] for number in numbers]
        room = max(way.closes_min for way in ways) - min(way.opens_min for way in ways)
        if sum(self.menu.block(chosen[number]).length_min for number in numbers) <= room:
            return False
        self._fit_together(numbers, room)
        return True

    def _order(self, numbers: Sequence[int]) -> bool:
        """Of two that clash one comes first; the last run of a day ends before the next day's."""
        new = [pair for pair in combinations(numbers, 2) if pair not in self.ordered]
        for i, j in new:
            self.ordered.add((i, j))
            if self._clash(i, j):
                first = self.model.column()
                self._after(i, j, {first: _FAR}, _FAR)
                self._after(j, i, {first: -_FAR}, 0.0)
            for one, other in ((i, j), (j, i)):
                if self._clash(one, other, later=1):
                    self._after(one, other, {}, MIN_PER_DAY)
        return bool(new)

    def _after(self, i: int, j: int, slack: Terms, room: float) -> None:
        """The second begins after the first has ended, where both are used."""
        starts = self.configs[i][0].starts
        both = {self.places[i].used: _FAR, self.places[j].used: _FAR}
        terms = self.places[i].length(starts) | both | slack
        terms |= {self._begin(i): 1.0, self._begin(j): -1.0}
        self.model.row(terms, room + 2 * _FAR)

    def _begin(self, number: int) -> int:
        """The column of a program's first start, which leaves room for all of it."""
        if number not in self.begins:
            way, place = self.configs[number][0], self.places[number]
            begin = self.model.column(low=way.opens_min, high=LAST_START_MIN, whole=False)
            self.begins[number] = begin
            self.model.row({**place.length(way.starts), begin: 1.0}, way.closes_min)
            self.model.row({place.every: way.starts - 1.0, begin: 1.0}, LAST_START_MIN)
        return self.begins[number]

    def _clash(self, i: int, j: int, *, later: int = 0) -> bool:
        (one, on), (other, upon) = self.configs[i], self.configs[j]
        return self.turns(one.task, other.task) and on.meets(upon, later=later)


@dataclass(frozen=True)
class TimedChoice:
    """The programs found, None without any, and the cost that none of these configs undercuts."""

    programs: tuple[Chosen, ...] | None
    bound: float


def choose_timed(
    menu: Menu, configs: Sequence[Config], turns: Turns, deadline: Deadline, rel_gap: float = 0.0
) -> TimedChoice:
    """Return the cheapest programs that find room, of those configs, or such within a gap.

    1. Choose as if only programs of the same hours had to share a day.
    2. Place what was chosen. If it finds room, nothing cheaper does.
    3. If not, add what it breaks, valid for every choice, and choose again.

    It ends with the time that is left, or with the rounds of the stop rule.
    """
    timed = TimedModel(menu, configs, turns)
    bound = 0.0
    for _ in range(deadline.stop.rounds):
        if deadline.is_over:
            break
        solution = timed.model.solve(deadline, rel_gap=rel_gap)
        bound = max(bound, solution.bound)
        if solution.values is None:
            break
        chosen = timed.read(solution.values.tolist())
        if menu.begins(list(chosen.values()), turns) is not None:
            return TimedChoice(tuple(chosen.values()), bound)
        if not timed.forbid(chosen):
            break
    return TimedChoice(None, bound)
