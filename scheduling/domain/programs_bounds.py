"""What no fit can undercut when hours are short, and which programs are worth trying then."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

from scheduling.domain.programs_assign import Menu, cost_table
from scheduling.domain.programs_linear import LinearModel, Stop
from scheduling.domain.programs_options import Kinds, Option, Way, allowed_days, spans_of
from scheduling.domain.programs_patterns import DayPattern, waterings_a_week
from scheduling.domain.programs_problem import ProgramRules
from scheduling.domain.programs_timed import Config

BATCH_CELLS: Final = 250
PATTERNS_PER_WAY: Final = 7


@dataclass(frozen=True)
class Relaxation:
    """What no fit undercuts when the minutes of a week run out, and the ways that come near it."""

    bound: float
    ways: tuple[Way, ...]


@dataclass
class _WeekModel:
    """All runs of a mean week within its allowed minutes; days, soaks and orders are let go of."""

    menu: Menu
    model: LinearModel = field(default_factory=LinearModel)
    used: dict[Way, int] = field(default_factory=dict)
    shares: list[dict[int, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.shares = [{} for _ in self.menu.clients]
        runs: dict[tuple[int, Kinds], dict[int, float]] = {}
        for way, options in self.menu.options.items():
            if options:
                self.used[way] = self.model.column()
                terms = runs.setdefault((way.task, way.kinds), {})
                for number, one in options.items():
                    terms |= self._minutes(way, number, one)
        for (task, kinds), terms in runs.items():
            rules = [self.menu.tasks[task].rules_for(kind) for kind in sorted(kinds)]
            self.model.row(terms, _minutes_a_week(rules))
        self._serve_each_once()

    def _minutes(self, way: Way, number: int, one: Option) -> dict[int, float]:
        model, spare = self.model, one.best - one.least
        take = model.column(one.cost)
        model.row({take: 1.0, self.used[way]: -1.0}, 0.0)
        self.shares[number][take] = 1.0
        step = self.menu.tasks[way.task].ability.minute_step * way.starts * way.weekly
        terms = {take: step * one.best}
        for most, cost in ((min(spare, 1), one.first_step_cost), (spare - 1, one.step_cost)):
            if most > 0:
                less = model.column(cost, high=most)
                model.row({less: 1.0, take: -float(most)}, 0.0)
                terms[less] = -step
        return terms

    def _serve_each_once(self) -> None:
        for number, taken in enumerate(self.shares):
            left_out = self.model.column(self.menu.unserved[number])
            self.model.row({**taken, left_out: 1.0}, 1.0, low=1.0)
        for number, task in enumerate(self.menu.tasks):
            terms = {column: 1.0 for way, column in self.used.items() if way.task == number}
            self.model.row(terms, task.ability.programs)


def weekly_relaxation(menu: Menu, stop: Stop) -> Relaxation:
    """Return a cost that no fit undercuts, and the ways in the order in which it uses them."""
    week = _WeekModel(menu)
    solution = week.model.solve(stop, relaxed=True)
    values = solution.values
    use = {way: 0.0 if values is None else values[column] for way, column in week.used.items()}
    served = dict(zip(use, cost_table(menu, list(use)).sum(axis=1), strict=True))
    ranked = sorted(use, key=lambda way: (-round(use[way], 6), served[way]))
    return Relaxation(max(solution.bound, 0.0), tuple(ranked))


def all_configs(menu: Menu) -> list[Config]:
    """Return every program that serves anybody."""
    useful = [way for way in menu.ways if menu.options[way]]
    return [(way, pattern) for way in useful for pattern in menu.ways[way]]


def cells(menu: Menu, configs: Iterable[Config]) -> int:
    """Return how many pairs of a zone and a program there are to choose from."""
    return sum(len(menu.options[way]) for way, _ in configs)


def batches(menu: Menu, ways: Iterable[Way]) -> Iterator[list[Config]]:
    """Yield the programs of some ways, a handful at a time, each way on several days."""
    batch: list[Config] = []
    for way in ways:
        batch += [(way, pattern) for pattern in _spread(menu.ways[way])]
        if cells(menu, batch) >= BATCH_CELLS:
            yield batch
            batch = []
    if batch:
        yield batch


def _spread(patterns: list[DayPattern]) -> list[DayPattern]:
    """A few of the patterns, evenly picked, so that programs can keep out of each other's way."""
    step = max(1, len(patterns) // PATTERNS_PER_WAY)
    return patterns[::step][:PATTERNS_PER_WAY]


def _minutes_a_week(rules: list[ProgramRules]) -> float:
    days, parities = allowed_days(rules)
    minutes = sum(closes - opens for opens, closes in spans_of(rules))
    if parities:
        return minutes * waterings_a_week(DayPattern(parity=parities[0]).gaps)
    return minutes * len(days)
