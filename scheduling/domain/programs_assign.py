"""Which zones share which way of running, as if the hours never ran out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.programs_linear import Deadline, LinearModel
from scheduling.domain.programs_options import Option, Way, option, unserved_cost, ways_of
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.programs_placing import Block, Turns, place
from scheduling.domain.programs_problem import ControllerTask, ZoneNeed

_ROUNDING: Final = 1e-9
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


Groups = dict[Way, tuple[Serving, ...]]


@dataclass(frozen=True)
class Chosen:
    """A program as chosen: how it runs, on which days, and whom it serves."""

    way: Way
    pattern: DayPattern
    servings: tuple[Serving, ...]


@dataclass(frozen=True)
class Table:
    """What each way (row) offers each zone (column), at its best, a step less, and its least.

    The first axis of `costs` [weighted mm a week], `minutes` [min a week] and `steps` are these
    three; between them the cost is linear. Costs are infinite where a way has nothing to offer.
    """

    ways: tuple[Way, ...]
    costs: NDArray[np.float64]
    minutes: NDArray[np.float64]
    steps: NDArray[np.int64]

    @classmethod
    def of(cls, menu: Menu) -> Table:
        """Return the table of a menu, without the ways that serve nobody."""
        ways = tuple(way for way in menu.ways if menu.options[way])
        shape = (3, len(ways), len(menu.clients))
        table = cls(ways, np.full(shape, np.inf), np.zeros(shape), np.zeros(shape, dtype=np.int64))
        for row, way in enumerate(ways):
            week_min = menu.tasks[way.task].ability.minute_step * way.starts * way.weekly
            for client, one in menu.options[way].items():
                steps = (one.best, max(one.best - 1, one.least), one.least)
                table.steps[:, row, client] = steps
                table.minutes[:, row, client] = [week_min * each for each in steps]
                table.costs[:, row, client] = [one.cost_below(one.best - each) for each in steps]
        return table


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

    @cached_property
    def table(self) -> Table:
        """The same as arrays."""
        return Table.of(self)

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
    """Zones shared out among ways; the cost that no fit can undercut, minutes priced.

    `minutes` is what each zone takes [min a week].
    """

    groups: Groups
    bound: float
    minutes: NDArray[np.float64]


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


def assign(menu: Menu, deadline: Deadline, prices: NDArray[np.float64] | None = None) -> Assignment:
    """Return the cheapest sharing out on as many ways as there are programs.

    The p-median problem: each zone takes the cheapest of the ways that are opened, or none. Two
    programs run in the same way would serve no zone better than one.

    Parameters
    ----------
    prices : what a minute a week costs each zone besides; None is nothing.
    """
    table, unserved = menu.table, np.array(menu.unserved)
    priced = table.costs if prices is None else table.costs + prices * table.minutes
    which = priced.argmin(axis=0)
    costs = np.minimum(priced.min(axis=0), unserved)
    model = LinearModel()
    opened = {row: model.column() for row in _undominated(table.ways, costs)}
    takes = {
        (row, client): model.column(costs[row, client], whole=False)
        for row in opened
        for client in np.flatnonzero(costs[row] < unserved - _ROUNDING).tolist()
    }
    _share_out(menu, model, opened, takes)
    solution = model.solve(deadline)
    values = solution.values
    running = [] if values is None else [r for r, column in opened.items() if values[column] > 0.5]
    groups: dict[Way, list[Serving]] = {}
    minutes = np.zeros(len(unserved))
    for client, cost in enumerate(unserved):
        row = min(running, key=lambda each: costs[each, client], default=None)
        if row is not None and costs[row, client] < cost - _ROUNDING:
            at = (which[row, client], row, client)
            minutes[client] = table.minutes[at]
            groups.setdefault(table.ways[row], []).append(Serving(client, int(table.steps[at])))
    shared = {way: tuple(servings) for way, servings in groups.items()}
    return Assignment(shared, max(solution.bound, 0.0), minutes)


def _share_out(
    menu: Menu, model: LinearModel, opened: dict[int, int], takes: dict[tuple[int, int], int]
) -> None:
    """Each zone is served once or left out, by opened ways, of which there are only so many."""
    shares: list[dict[int, float]] = [{} for _ in menu.clients]
    for (row, client), column in takes.items():
        shares[client][column] = 1.0
        model.row({column: 1.0, opened[row]: -1.0}, 0.0)
    for share, cost in zip(shares, menu.unserved, strict=True):
        model.row({**share, model.column(cost, whole=False): 1.0}, 1.0, low=1.0)
    for number, task in enumerate(menu.tasks):
        mine = [column for row, column in opened.items() if menu.table.ways[row].task == number]
        model.row(dict.fromkeys(mine, 1.0), task.ability.programs)


def realise(
    menu: Menu, groups: Groups, turns: Turns, deadline: Deadline
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
            if budget[0] < 0 or deadline.is_over:
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


def _undominated(ways: Sequence[Way], costs: NDArray[np.float64]) -> list[int]:
    """The rows of ways that no other way matches for every zone; of equals the first."""
    kept: list[int] = []
    for row in np.lexsort((np.arange(len(ways)), costs.sum(axis=1))):
        rivals = [other for other in kept if ways[other].task == ways[row].task]
        if not rivals or not np.any(np.all(costs[rivals] <= costs[row] + _ROUNDING, axis=1)):
            kept.append(int(row))
    return sorted(kept)
