"""The fit itself: choose, place, prove, and say what is amiss."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.programs_assign import Menu, menu_of
from scheduling.domain.programs_linear import Deadline, Stop
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_problem import ControllerTask, check_supply
from scheduling.domain.programs_results import (
    FittedProgram,
    ProgramFit,
    Unmet,
    ZoneFit,
    fitted_programs,
    zone_fit,
)
from scheduling.domain.programs_search import Found, search
from scheduling.domain.programs_unmet import named, unmet_needs

_ROUNDING: Final = 1e-6


def fit_tasks(
    tasks: Sequence[ControllerTask], supply_l_min: float | None, stop: Stop
) -> ProgramFit:
    """Return the fit of all controllers together; see `programs.fit_controllers`."""
    if not tasks:
        raise InvalidInputError(
            "There is no controller.", field="controllers", remedy="Give at least one."
        )
    if len({task.name for task in tasks}) != len(tasks):
        raise InvalidInputError(
            "Two controllers have the same name.", field="name", remedy="Name each differently."
        )
    check_supply(tasks, supply_l_min)
    turns, deadline = turns_of(tasks, supply_l_min), Deadline.of(stop)
    crews = _crews(len(tasks), turns)
    searched = [
        _search([tasks[number] for number in crew], _among(crew, turns), deadline.part(1 / left))
        for crew, left in zip(crews, range(len(crews), 0, -1), strict=True)
    ]
    return _fit_of(tasks, searched)


@dataclass(frozen=True)
class _Searched:
    """What a crew was asked, what was found, and that as programs."""

    menu: Menu
    found: Found
    programs: tuple[FittedProgram, ...]


def _search(tasks: Sequence[ControllerTask], turns: Turns, deadline: Deadline) -> _Searched:
    menu = menu_of(tasks)
    found = search(menu, turns, deadline)
    begins = menu.begins(found.programs, turns) or []
    return _Searched(menu, found, fitted_programs(menu, found.programs, begins))


def _fit_of(tasks: Sequence[ControllerTask], searched: Sequence[_Searched]) -> ProgramFit:
    order = [task.name for task in tasks]
    programs = [program for one in searched for program in one.programs]
    programs.sort(key=lambda program: order.index(program.controller))
    by_zone = {
        (program.controller, zone_id): program
        for program in programs
        for zone_id, _ in program.zone_minutes
    }
    fits = {
        task.name: [zone_fit(zone, by_zone.get((task.name, zone.zone_id))) for zone in task.zones]
        for task in tasks
    }
    zones = tuple(fit for name in order for fit in fits[name])
    cost = math.fsum(zone.cost for zone in zones)
    bound = min(math.fsum(one.found.bound for one in searched), cost)
    is_optimal = cost - bound <= _ROUNDING * (1.0 + cost)
    return ProgramFit(
        programs=tuple(programs),
        zones=zones,
        cost=cost,
        bound=cost if is_optimal else bound,
        is_optimal=is_optimal,
        stopped_early=not is_optimal,
        unmet=_unmet(searched, fits, is_optimal=is_optimal),
    )


def _among(crew: Sequence[int], turns: Turns) -> Turns:
    """Return who takes turns, by number within a crew."""
    return lambda one, other: turns(crew[one], crew[other])


def _crews(count: int, turns: Turns) -> list[list[int]]:
    """Return the controllers in crews of which none ever waits for another."""
    crews: list[list[int]] = []
    for number in range(count):
        mine = [crew for crew in crews if any(turns(number, other) for other in crew)]
        crews = [crew for crew in crews if crew not in mine]
        crews.append(sorted([number, *(other for crew in mine for other in crew)]))
    return sorted(crews)


def turns_of(tasks: Sequence[ControllerTask], supply_l_min: float | None) -> Turns:
    """Return which controllers must take turns, so that their flows never exceed the supply.

    Two must where their thirstiest zones together take too much; all must where some that need not
    by pairs take too much together.
    """
    flows = [max((zone.flow_l_min or 0.0) for zone in task.zones) for task in tasks]
    limit = math.inf if supply_l_min is None else supply_l_min

    def pair(one: int, other: int) -> bool:
        return one == other or flows[one] + flows[other] > limit

    for size in range(3, len(tasks) + 1):
        for group in combinations(range(len(tasks)), size):
            together = not any(pair(i, j) for i, j in combinations(group, 2))
            if together and sum(flows[i] for i in group) > limit:
                return lambda one, other: True
    return pair


def _unmet(
    searched: Sequence[_Searched], fits: Mapping[str, Sequence[ZoneFit]], *, is_optimal: bool
) -> tuple[Unmet, ...]:
    zones = [fit for mine in fits.values() for fit in mine]
    idle = [named("no-need", fit) for fit in zones if fit.need_mm_week == 0]
    amiss = [unmet for one in searched for unmet in _amiss(one, fits)]
    mixed = any(len(program.kinds) > 1 for one in searched for program in one.programs)
    whole = [named("kinds-mixed")] * mixed + [named("stopped-early")] * (not is_optimal)
    return (*idle, *amiss, *whole)


def _amiss(one: _Searched, fits: Mapping[str, Sequence[ZoneFit]]) -> tuple[Unmet, ...]:
    needy = (fit for task in one.menu.tasks for fit in fits[task.name] if fit.need_mm_week > 0)
    found = one.found
    return unmet_needs(
        one.menu, dict(enumerate(needy)), found.programs, hours_bind=found.hours_bind
    )
