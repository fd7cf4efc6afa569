"""What a fit could not meet, which limit was in the way, and what would cure it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from scheduling.domain.programs_assign import Chosen, Client, Menu, menu_of
from scheduling.domain.programs_options import allowed_days, option, spans_of, unserved_cost
from scheduling.domain.programs_problem import ControllerTask, ProgramRules, ZoneNeed
from scheduling.domain.programs_results import Unmet, ZoneFit

WORTH_SAYING: Final = 0.02  # common practice: two per cent of the need is nobody's concern
MORE_STARTS: Final = 4
MOST_STARTS: Final = 24
_ROUNDING: Final = 1e-6

_WHAT: Final = {
    "no-need": ("The zone needs no water, so it is in no program.", "Nothing is to be done."),
    "no-day-allowed": (
        "The rules allow no day that the controller can be set to, so the zone gets nothing.",
        "A variance, or a controller that can be set to the allowed days.",
    ),
    "no-hour-allowed": ("The rules allow no hour, so the zone gets nothing.", "A variance."),
    "cycle-under-step": (
        "Water would run off, or the run end, before the least run of the controller is over.",
        "A nozzle of lower rate, or a controller with a finer step or shorter runs.",
    ),
    "cap-under-step": (
        "The least run of the controller already exceeds what a day, a soak or the hours allow.",
        "A variance, a nozzle of lower rate, or a controller with a finer step.",
    ),
    "hours": (
        "The allowed hours are too short for all zones, so the zone runs too little.",
        "A longer window.",
    ),
    "programs": (
        "The programs are too few: the zone shares days or starts that do not suit it.",
        "Another program.",
    ),
    "starts": (
        "The starts are too few for the cycles that the soil asks for.",
        "Another start, or a nozzle of lower rate.",
    ),
    "rules": ("The days, hours or caps of the rules are too tight for the zone.", "A variance."),
    "least-step": (
        "The least that the controller can be set to gives more than the zone can use.",
        "A nozzle of lower rate, or a controller with a finer step.",
    ),
    "soil": (
        "What the soil takes in a cycle or a day, or the roots hold, does not cover the need.",
        "A nozzle of lower rate, deeper roots, or plants that need less.",
    ),
    "kinds-mixed": (
        "The controller has a single program, so drip and sprinklers share it.",
        "Another program.",
    ),
    "stopped-early": (
        "The search was stopped before its answer was proven best.",
        "More time, or accept the gap.",
    ),
}


@dataclass(frozen=True)
class _Reach:
    """The least cost of each zone, by its number among the clients, under some conditions."""

    costs: dict[int, float]

    @classmethod
    def of(
        cls, menu: Menu, numbers: Sequence[int], tasks: Sequence[ControllerTask] | None = None
    ) -> _Reach:
        """The least costs of some zones; `tasks` are what the controllers and rules might be."""
        freer = menu if tasks is None else menu_of(tasks)
        return cls({number: _least(menu.clients[number], freer) for number in numbers})


def _least(client: Client, menu: Menu) -> float:
    task = menu.tasks[client.task]
    rules = task.rules_for(client.zone.kind)
    options = (
        option(client.zone, rules, task.ability, way)
        for way in menu.ways
        if way.task == client.task and client.zone.kind in way.kinds
    )
    costs = [one.cost for one in options if one is not None]
    return min([unserved_cost(client.zone), *costs])


def _least_used(menu: Menu, number: int, chosen: Sequence[Chosen]) -> float:
    """The least cost of a zone in any of the programs that there are."""
    options = (menu.options[program.way].get(number) for program in chosen)
    return min([menu.unserved[number], *(one.cost for one in options if one is not None)])


def named(code: str, zone: ZoneNeed | None = None) -> Unmet:
    """Return what a code says, of a zone or of all."""
    return Unmet(zone.zone_id if zone else None, code, *_WHAT[code])


def unmet_needs(
    menu: Menu, fits: dict[int, ZoneFit], chosen: Sequence[Chosen], *, hours_bind: bool
) -> tuple[Unmet, ...]:
    """Return for each zone that is not met which limits stand in the way.

    A limit stands in the way where the zone alone would do better without it.

    Parameters
    ----------
    menu : what there was to choose from.
    fits : what each client gets.
    chosen : the programs.
    hours_bind : whether the cheapest sharing out found no room in the allowed hours.
    """
    amiss = [number for number, fit in fits.items() if fit.cost > _tolerance(menu, number)]
    if not amiss:
        return ()
    here = _Reach.of(menu, amiss)
    freer = {
        "starts": _Reach.of(menu, amiss, [_more_starts(task) for task in menu.tasks]),
        "rules": _Reach.of(menu, amiss, [_no_rules(task) for task in menu.tasks]),
    }
    found: list[Unmet] = []
    for number in amiss:
        client = menu.clients[number]
        now, worth = fits[number].cost, _tolerance(menu, number)
        used = _least_used(menu, number, chosen)
        codes = []
        if hours_bind and used < now - worth:
            codes.append("hours")
        if here.costs[number] < min(now, used) - worth:
            codes.append("programs")
        if hours_bind and not codes and here.costs[number] < now - _ROUNDING:
            codes.append("hours")
        if not any(number in menu.options[way] for way in menu.ways):
            codes.append(_why_nothing(menu, menu.tasks[client.task], client.zone))
        still = here.costs[number] - worth
        codes += [code for code, reach in freer.items() if reach.costs[number] < still]
        found += [named(code, client.zone) for code in codes or [_what_remains(fits[number])]]
    return tuple(found)


def _tolerance(menu: Menu, number: int) -> float:
    return WORTH_SAYING * menu.unserved[number] + _ROUNDING


def _what_remains(fit: ZoneFit) -> str:
    return "least-step" if fit.excess_mm_week > fit.shortfall_mm_week else "soil"


def _why_nothing(menu: Menu, task: ControllerTask, zone: ZoneNeed) -> str:
    rules = [task.rules_for(zone.kind)]
    if not spans_of(rules):
        return "no-hour-allowed"
    days, parities = allowed_days(rules)
    parity = parities[0] if parities else None
    if not any(pattern.keeps_to(days, parity) for pattern in task.ability.patterns()):
        return "no-day-allowed"
    step = task.ability.minute_step
    least = math.ceil(task.ability.shortest_run_min / step) * step
    if min(zone.longest_cycle_min, task.ability.longest_run_min) < least:
        return "cycle-under-step"
    rule = task.rules_for(zone.kind)
    ways = [way for way in menu.ways if menu.tasks[way.task] == task and zone.kind in way.kinds]
    possible = any(option(zone, rule, task.ability, way) for way in ways)
    return "least-step" if possible else "cap-under-step"


def _more_starts(task: ControllerTask) -> ControllerTask:
    starts = min(task.ability.starts_per_program + MORE_STARTS, MOST_STARTS)
    return replace(task, ability=replace(task.ability, starts_per_program=starts))


def _no_rules(task: ControllerTask) -> ControllerTask:
    return replace(task, rules=ProgramRules(), drip_rules=None)
