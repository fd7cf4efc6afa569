"""Which zones share which way of running, as if the hours never ran out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.programs_linear import LinearModel, Stop
from scheduling.domain.programs_options import Option, Way, option, unserved_cost, ways_of
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.programs_placing import Block, Turns, place
from scheduling.domain.programs_problem import ControllerTask, ZoneNeed

_ROUNDING: Final = 1e-9
_CHOSEN: Final = 0.5
MOST_REALISED: Final = 3000


@dataclass(frozen=True)
class Client:
    """A zone that needs water, and the controller, by number, that it hangs on."""

    task: int
    zone: ZoneNeed


@dataclass(frozen=True)
class Serving:
    """A zone, by number among the clients, and its steps at each start."""

    client: int
    steps: int


@dataclass(frozen=True)
class Chosen:
    """A program as chosen: how it runs, on which days, and whom it serves."""

    way: Way
    pattern: DayPattern
    servings: tuple[Serving, ...]


@dataclass(frozen=True)
class Menu:
    """Everything that may be chosen from."""

    tasks: tuple[ControllerTask, ...]
    clients: tuple[Client, ...]
    ways: dict[Way, list[DayPattern]]

    @cached_property
    def options(self) -> dict[Way, dict[int, Option]]:
        """For each way the zones that it serves better than nothing would."""
        return {way: self._options_of(way) for way in self.ways}

    @cached_property
    def unserved(self) -> list[float]:
        """What it costs to leave out each zone."""
        return [unserved_cost(client.zone) for client in self.clients]

    def block(self, chosen: Chosen) -> Block:
        """Return the program as it takes up time, its soaks kept."""
        step = self.tasks[chosen.way.task].ability.minute_step
        minutes = [step * serving.steps for serving in chosen.servings]
        soaks = [math.ceil(self.clients[one.client].zone.soak_min) for one in chosen.servings]
        waits = [run + soak for run, soak in zip(minutes, soaks, strict=True)]
        return Block(chosen.way, chosen.pattern, sum(minutes), max(sum(minutes), *waits))

    def begins(self, programs: Sequence[Chosen], turns: Turns) -> list[int] | None:
        """Return when each program begins, None where they find no room."""
        blocks = [self.block(program) for program in programs]
        if any(block.every_min > block.way.longest_every_min() for block in blocks):
            return None
        return place(blocks, turns)

    def _options_of(self, way: Way) -> dict[int, Option]:
        task = self.tasks[way.task]
        found = {
            number: option(client.zone, task.rules_for(client.zone.kind), task.ability, way)
            for number, client in enumerate(self.clients)
            if client.task == way.task and client.zone.kind in way.kinds
        }
        return {
            number: one
            for number, one in found.items()
            if one is not None and one.cost < self.unserved[number] - _ROUNDING
        }


@dataclass(frozen=True)
class Assignment:
    """Zones shared out among ways; the cost that no fit can undercut."""

    groups: dict[Way, tuple[Serving, ...]]
    bound: float
    is_proven: bool


def menu_of(tasks: Sequence[ControllerTask]) -> Menu:
    """Return what there is to choose from; zones without a need are no clients."""
    clients = tuple(
        Client(number, zone)
        for number, task in enumerate(tasks)
        for zone in task.zones
        if zone.need_mm_week > 0
    )
    ways: dict[Way, list[DayPattern]] = {}
    for number, task in enumerate(tasks):
        ways.update(ways_of(task, number))
    return Menu(tuple(tasks), clients, ways)


def assign(menu: Menu, stop: Stop) -> Assignment:
    """Return the cheapest sharing out on as many ways as there are programs.

    The p-median problem: each zone takes the cheapest of the ways that are opened, or none. Two
    programs run in the same way would serve no zone better than one.
    """
    ways = _undominated(menu)
    model = LinearModel()
    opened = {way: model.column() for way in ways}
    takes = {
        (way, number): model.column(one.cost)
        for way in ways
        for number, one in menu.options[way].items()
    }
    for number, cost in enumerate(menu.unserved):
        terms = {column: 1.0 for (_, client), column in takes.items() if client == number}
        model.row({**terms, model.column(cost): 1.0}, 1.0, low=1.0)
    for (way, _), column in takes.items():
        model.row({column: 1.0, opened[way]: -1.0}, 0.0)
    for number, task in enumerate(menu.tasks):
        terms = {column: 1.0 for way, column in opened.items() if way.task == number}
        model.row(terms, task.ability.programs)
    solution = model.solve(stop)
    if solution.values is None:
        return Assignment({}, max(solution.bound, 0.0), False)
    groups: dict[Way, list[Serving]] = {}
    for (way, number), column in takes.items():
        if solution.values[column] > _CHOSEN:
            groups.setdefault(way, []).append(Serving(number, menu.options[way][number].best))
    return Assignment(
        {way: tuple(servings) for way, servings in groups.items()},
        max(solution.bound, 0.0),
        solution.is_optimal,
    )


def realise(
    menu: Menu, groups: dict[Way, tuple[Serving, ...]], turns: Turns
) -> tuple[Chosen, ...] | None:
    """Return the groups on real days and hours, None where a bound on the tries is reached."""
    ways = list(groups)
    budget = [MOST_REALISED]

    def extend(programs: tuple[Chosen, ...]) -> tuple[Chosen, ...] | None:
        if len(programs) == len(ways):
            return programs
        way = ways[len(programs)]
        for pattern in menu.ways[way]:
            budget[0] -= 1
            longer = (*programs, Chosen(way, pattern, groups[way]))
            if budget[0] < 0:
                return None
            if menu.begins(longer, turns) is not None and (found := extend(longer)) is not None:
                return found
        return None

    return extend(())


def cost_of(menu: Menu, programs: Sequence[Chosen]) -> float:
    """Return the weighted shortfall and excess of all zones [mm a week]."""
    costs = list(menu.unserved)
    for program in programs:
        for serving in program.servings:
            one = menu.options[program.way][serving.client]
            costs[serving.client] = one.cost_below(one.best - serving.steps)
    return math.fsum(costs)


def cost_table(menu: Menu, ways: Sequence[Way]) -> NDArray[np.float64]:
    """Return the cost of each zone (column) in each way (row), at most that of leaving it out."""
    table = np.tile(np.array(menu.unserved), (len(ways), 1))
    for row, way in enumerate(ways):
        for number, one in menu.options[way].items():
            table[row, number] = one.cost
    return table


def _undominated(menu: Menu) -> list[Way]:
    """The ways that some other way does not match for every zone; of equals the first."""
    ways = [way for way in menu.ways if menu.options[way]]
    table = cost_table(menu, ways)
    kept: list[int] = []
    for row in np.lexsort((np.arange(len(ways)), table.sum(axis=1))):
        rivals = [other for other in kept if ways[other].task == ways[row].task]
        if not any(np.all(table[other] <= table[row] + _ROUNDING) for other in rivals):
            kept.append(int(row))
    return [ways[row] for row in sorted(kept)]
