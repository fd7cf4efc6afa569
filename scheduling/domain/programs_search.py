"""The search for the cheapest programs: first without hours, then with them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from scheduling.domain.programs_assign import (
    Assignment,
    Chosen,
    Groups,
    Menu,
    Serving,
    assign,
    cost_of,
    realise,
)
from scheduling.domain.programs_bounds import Relaxation, weekly_relaxation
from scheduling.domain.programs_linear import Deadline
from scheduling.domain.programs_placing import Turns
from scheduling.domain.programs_swaps import Swaps
from scheduling.domain.programs_timed import Config, choose_timed

# Zones x programs to choose from, up to which all are tried at once: first of all, or at last.
FEW_CELLS: Final = 600
MOST_CELLS: Final = 3000
MOST_ENDS: Final = 4
NEAR: Final = 2e-3
PART_TO_PLACE: Final = 0.2
LEAST_TO_PLACE_S: Final = 0.2
_HALF: Final = 0.5
_ROUNDING: Final = 1e-9
_SHRINKINGS: Final = 12


@dataclass(frozen=True)
class Found:
    """The programs found, and the cost that none undercut.

    `hours_bind` says that the cheapest sharing out found no room in the allowed hours.
    """

    programs: tuple[Chosen, ...]
    bound: float
    hours_bind: bool


def search(menu: Menu, turns: Turns, deadline: Deadline) -> Found:
    """Share out without hours; where that finds no room, again with the hours counted.

    1. Of few programs to choose from, all are tried at once, and the answer is proven.
    2. Of many, a bound is sought by giving the minutes of a week a price. The ways that are best at
       such prices are put on days, and one program after the other is changed for a better one.
    3. If neither meets the bound and not too many are left to choose from, all are tried at last.
    """
    if not any(menu.options.values()):
        return Found((), math.fsum(menu.unserved), hours_bind=False)
    free = assign(menu, deadline)
    programs = realise(menu, free.groups, turns, deadline.part(PART_TO_PLACE))
    if programs is not None:
        return Found(programs, free.bound, hours_bind=False)
    return _timed_search(menu, free, turns, deadline)


def _timed_search(menu: Menu, free: Assignment, turns: Turns, deadline: Deadline) -> Found:
    configs = [(way, pattern) for way in menu.table.ways for pattern in menu.ways[way]]
    cells = sum(len(menu.options[way]) for way, _ in configs)
    found = Found((), free.bound, hours_bind=True)
    if cells <= FEW_CELLS:
        found = _all_at_once(menu, found, configs, (turns, deadline.part(_HALF)))
    if not _is_proven(menu, found):
        relaxation = weekly_relaxation(menu, free, turns, deadline.part(_HALF))
        found = replace(found, bound=max(found.bound, relaxation.bound))
        found = _swapped(found, Swaps(menu, configs, turns), relaxation, deadline)
        if not found.programs:
            shrunk = _shrunk(menu, relaxation.groups, turns, deadline)
            found = replace(found, programs=shrunk or _shrunk(menu, free.groups, turns, deadline))
        found = _polished(menu, found, turns, deadline)
    if FEW_CELLS < cells <= MOST_CELLS and not _is_proven(menu, found):
        found = _all_at_once(menu, found, configs, (turns, deadline))
    return found


def _is_proven(menu: Menu, found: Found) -> bool:
    return cost_of(menu, found.programs) <= found.bound + _ROUNDING


def _all_at_once(
    menu: Menu, found: Found, configs: Sequence[Config], until: tuple[Turns, Deadline]
) -> Found:
    timed = choose_timed(menu, configs, *until)
    return replace(
        found,
        programs=_cheaper(menu, found.programs, timed.programs),
        bound=max(found.bound, timed.bound),
    )


def _swapped(found: Found, swaps: Swaps, relaxation: Relaxation, deadline: Deadline) -> Found:
    """Put the sets that swaps reach in whole numbers, as long as one may be better."""
    menu, most = swaps.menu, min(deadline.stop.rounds, MOST_ENDS)
    tried: set[frozenset[int]] = set()
    for reached in swaps.reached(relaxation.groups, relaxation.prices, deadline.part(_HALF)):
        if len(tried) == most or deadline.is_over or _is_proven(menu, found):
            break
        better = reached.cost < cost_of(menu, found.programs) - _ROUNDING
        if better and frozenset(reached.chosen) not in tried:
            tried.add(frozenset(reached.chosen))
            configs = [swaps.configs[number] for number in reached.chosen]
            timed = choose_timed(menu, configs, swaps.turns, deadline.part(_HALF), NEAR)
            found = replace(found, programs=_cheaper(menu, found.programs, timed.programs))
    return found


def _polished(menu: Menu, found: Found, turns: Turns, deadline: Deadline) -> Found:
    """The same ways and days, zones and minutes chosen to the last step."""
    if _is_proven(menu, found) or not found.programs or deadline.is_over:
        return found
    configs = [(program.way, program.pattern) for program in found.programs]
    timed = choose_timed(menu, configs, turns, deadline.part(_HALF))
    return replace(found, programs=_cheaper(menu, found.programs, timed.programs))


def _cheaper(
    menu: Menu, one: tuple[Chosen, ...], other: tuple[Chosen, ...] | None
) -> tuple[Chosen, ...]:
    """Return the cheaper choice; the first where they cost the same or there is no other."""
    if other is None or cost_of(menu, other) >= cost_of(menu, one) - _ROUNDING:
        return one
    return other


def _shrunk(menu: Menu, groups: Groups, turns: Turns, deadline: Deadline) -> tuple[Chosen, ...]:
    """A sharing out, all minutes cut alike until it finds room.

    It may take a moment past the deadline, since a poor answer is better than none.
    """
    until = deadline.part(PART_TO_PLACE, least_s=LEAST_TO_PLACE_S)
    for cut in range(_SHRINKINGS):
        shorter = _cut(menu, groups, 1.0 - cut / _SHRINKINGS)
        part = until.part(1 / (_SHRINKINGS - cut))
        if (programs := realise(menu, shorter, turns, part)) is not None:
            return programs
    return ()


def _cut(menu: Menu, groups: Groups, share: float) -> Groups:
    cut = {
        way: tuple(
            Serving(one.client, steps)
            for one in servings
            if (steps := math.floor(one.steps * share)) >= menu.options[way][one.client].least
        )
        for way, servings in groups.items()
    }
    return {way: servings for way, servings in cut.items() if servings}
