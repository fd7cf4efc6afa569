"""The fit itself: choose, place, prove, and say what is amiss."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.programs_assign import (
    Menu,
    menu_of,
)
from scheduling.domain.programs_linear import Stop
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_problem import ControllerTask, check_supply
from scheduling.domain.programs_results import ProgramFit, Unmet, ZoneFit, fitted_programs, zone_fit
from scheduling.domain.programs_search import Found, search
from scheduling.domain.programs_unmet import named, unmet_needs

_ROUNDING: Final = 1e-6
_SHRINKINGS: Final = 20


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
    turns = turns_of(tasks, supply_l_min)
    menu = menu_of(tasks)
    found = search(menu, turns, stop)
    programs = fitted_programs(menu, found.programs, menu.begins(found.programs, turns) or [])
    by_zone = {
        (program.controller, zone_id): program
        for program in programs
        for zone_id, _ in program.zone_minutes
    }
    pairs = [(task.name, zone) for task in tasks for zone in task.zones]
    zones = tuple(zone_fit(zone, by_zone.get((name, zone.zone_id))) for name, zone in pairs)
    cost = math.fsum(zone.cost for zone in zones)
    bound = min(found.bound, cost)
    is_optimal = cost - bound <= _ROUNDING * (1.0 + cost)
    return ProgramFit(
        programs=programs,
        zones=zones,
        cost=cost,
        bound=cost if is_optimal else bound,
        is_optimal=is_optimal,
        stopped_early=not is_optimal,
        unmet=_unmet(menu, found, zones, is_optimal=is_optimal),
    )


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
    menu: Menu, found: Found, zones: Sequence[ZoneFit], *, is_optimal: bool
) -> tuple[Unmet, ...]:
    given = [zone for task in menu.tasks for zone in task.zones]
    idle = [named("no-need", zone) for zone in given if zone.need_mm_week == 0]
    needy = [fit for fit in zones if fit.need_mm_week > 0]
    amiss = unmet_needs(menu, dict(enumerate(needy)), found.programs, hours_bind=found.hours_bind)
    mixed = any(
        len({menu.clients[one.client].zone.kind for one in program.servings}) > 1
        for program in found.programs
    )
    whole = [named("kinds-mixed")] * mixed + [named("stopped-early")] * (not is_optimal)
    return (*idle, *amiss, *whole)
