"""The search for the cheapest programs: first without hours, then with them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

from scheduling.domain.programs_assign import (
    Assignment,
    Chosen,
    Menu,
    Serving,
    assign,
    cost_of,
    realise,
)
from scheduling.domain.programs_bounds import all_configs, batches, cells, weekly_relaxation
from scheduling.domain.programs_linear import Stop
from scheduling.domain.programs_options import Way
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_timed import choose_timed

# Zones x programs to choose from, up to which all are tried at once: first of all, or at last.
FEW_CELLS: Final = 600
MOST_CELLS: Final = 3000
PART_OF_SECONDS: Final = 0.3
ROUNDS_OF_CUTS: Final = 5
_ROUNDING: Final = 1e-9
_SHRINKINGS: Final = 20


@dataclass(frozen=True)
class Found:
    """The programs found, and the cost that none undercut.

    `hours_bind` says that the cheapest sharing out found no room in the allowed hours.
    """

    programs: tuple[Chosen, ...]
    bound: float
    hours_bind: bool


def search(menu: Menu, turns: Turns, stop: Stop) -> Found:
    """Share out without hours; where that finds no room, again with the hours counted.

    Few programs to choose from are tried all at once, and the answer is proven. Of many, better and
    better ones are looked for a handful at a time; it is proven where it meets a bound.
    """
    if not any(menu.options.values()):
        return Found((), math.fsum(menu.unserved), hours_bind=False)
    assignment = assign(menu, stop)
    programs = realise(menu, assignment.groups, turns)
    if programs is not None:
        return Found(programs, assignment.bound, hours_bind=False)
    return _timed_search(menu, assignment, turns, stop)


def _timed_search(menu: Menu, assignment: Assignment, turns: Turns, stop: Stop) -> Found:
    configs = all_configs(menu)
    first = Found(_shrunk(menu, assignment, turns), assignment.bound, hours_bind=True)
    if (size := cells(menu, configs)) > FEW_CELLS:
        relaxation = weekly_relaxation(menu, stop)
        ways = tuple(dict.fromkeys([*assignment.groups, *relaxation.ways]))
        first = replace(first, bound=max(first.bound, relaxation.bound))
        first = replace(first, programs=_improved(menu, first, ways, turns, stop))
    if size > MOST_CELLS or _is_proven(menu, first):
        return first
    timed = choose_timed(menu, configs, turns, stop)
    programs = cheapest(menu, first.programs, timed.programs)
    return Found(programs, max(first.bound, timed.bound), hours_bind=True)


def _is_proven(menu: Menu, found: Found) -> bool:
    return cost_of(menu, found.programs) <= found.bound + _ROUNDING


def cheapest(
    menu: Menu, one: tuple[Chosen, ...], other: tuple[Chosen, ...] | None
) -> tuple[Chosen, ...]:
    """Return the cheaper choice; the first where they cost the same or there is no other."""
    if other is None or cost_of(menu, other) >= cost_of(menu, one) - _ROUNDING:
        return one
    return other


def _improved(
    menu: Menu, first: Found, ways: Sequence[Way], turns: Turns, stop: Stop
) -> tuple[Chosen, ...]:
    """Choose again and again among the programs so far and a handful of others.

    It ends where nothing can be cheaper, or with the rounds of the stop rule.
    """
    programs = first.programs
    part = replace(stop, seconds=stop.seconds * PART_OF_SECONDS, rounds=ROUNDS_OF_CUTS)
    for batch in islice(batches(menu, ways), stop.rounds):
        if _is_proven(menu, replace(first, programs=programs)):
            break
        so_far = [(program.way, program.pattern) for program in programs]
        configs = list(dict.fromkeys([*so_far, *batch]))
        programs = cheapest(menu, programs, choose_timed(menu, configs, turns, part).programs)
    return programs


def _shrunk(menu: Menu, assignment: Assignment, turns: Turns) -> tuple[Chosen, ...]:
    """The sharing out without hours, all minutes cut alike until it finds room."""
    for cut in range(1, _SHRINKINGS):
        groups = _cut(menu, assignment.groups, 1.0 - cut / _SHRINKINGS)
        if (programs := realise(menu, groups, turns)) is not None:
            return programs
    return ()


def _cut(
    menu: Menu, groups: dict[Way, tuple[Serving, ...]], share: float
) -> dict[Way, tuple[Serving, ...]]:
    cut = {
        way: tuple(
            Serving(one.client, steps)
            for one in servings
            if (steps := math.floor(one.steps * share)) >= menu.options[way][one.client].least
        )
        for way, servings in groups.items()
    }
    return {way: servings for way, servings in cut.items() if servings}
