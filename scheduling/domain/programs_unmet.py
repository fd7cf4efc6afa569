"""What a fit could not meet, which limit was in the way, and what would cure it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from scheduling.domain.programs_assign import Chosen, Client, Menu, menu_of
from scheduling.domain.programs_options import Way, allowed_days, option, spans_of, unserved_cost
from scheduling.domain.programs_problem import MIN_PER_DAY, ControllerTask, ProgramRules, ZoneNeed
from scheduling.domain.programs_results import Unmet, ZoneFit

WORTH_SAYING: Final = 0.02  # common practice: two per cent of the need is nobody's concern
MORE_STARTS: Final = 4
MOST_STARTS: Final = 24
HOURS_A_WEEK: Final = 24 * 7
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
    "longest-run": (
        "The longest run of the controller ends before the zone has its water.",
        "A controller with longer runs, or another start.",
    ),
    "week": (
        "The zone would need more hours than the week has.",
        "A nozzle of higher rate that the soil still takes, or plants that need less.",
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
    def of(cls, menu: Menu, numbers: Sequence[int], tasks: Sequence[ControllerTask]) -> _Reach:
        """The least costs of some zones; `tasks` are what the controllers and rules might be."""
        freer = menu_of(tasks)
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


def _least_used(menu: Menu, number: int, ways: Iterable[Way]) -> float:
    """The least cost of a zone in any of these ways."""
    options = (menu.options[way].get(number) for way in ways)
    return min([menu.unserved[number], *(one.cost for one in options if one is not None)])


def named(code: str, fit: ZoneFit | None = None) -> Unmet:
    """Return what a code says, of a zone with what it loses, or of all."""
    if fit is None:
        return Unmet(None, code, *_WHAT[code])
    loss = fit.shortfall_mm_week + fit.excess_mm_week
    share = loss / fit.need_mm_week if fit.need_mm_week else None
    return Unmet(fit.zone_id, code, *_WHAT[code], loss, share)


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
    here = _Reach({number: _least_used(menu, number, menu.ways) for number in amiss})
    freer = {
        "starts": _Reach.of(menu, amiss, [_more_starts(task) for task in menu.tasks]),
        "longest-run": _Reach.of(menu, amiss, [_longer_runs(task) for task in menu.tasks]),
        "rules": _Reach.of(menu, amiss, [_no_rules(task) for task in menu.tasks]),
    }
    found: list[Unmet] = []
    for number in amiss:
        client = menu.clients[number]
        now, worth = fits[number].cost, _tolerance(menu, number)
        used = _least_used(menu, number, [program.way for program in chosen])
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
        remains = [_what_remains(client.zone, fits[number])]
        found += [named(code, fits[number]) for code in codes or remains]
    return tuple(found)


def _tolerance(menu: Menu, number: int) -> float:
    return WORTH_SAYING * menu.unserved[number] + _ROUNDING


def _what_remains(zone: ZoneNeed, fit: ZoneFit) -> str:
    if zone.need_mm_week / zone.rate_mm_h > HOURS_A_WEEK:
        return "week"
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


def _longer_runs(task: ControllerTask) -> ControllerTask:
    return replace(task, ability=replace(task.ability, longest_run_min=MIN_PER_DAY))


def _no_rules(task: ControllerTask) -> ControllerTask:
    return replace(task, rules=ProgramRules(), drip_rules=None)
