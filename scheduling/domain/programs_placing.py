"""When each program begins, so that no two ever run together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from scheduling.domain.programs_options import LAST_START_MIN, Way
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.programs_problem import MIN_PER_DAY

MOST_TRIES: Final = 800  # four programs have six pairs, so 3^6 = 729 try all

Turns = Callable[[int, int], bool]
Arc = tuple[int, int, int]  # the second begins at least so many minutes after the first


@dataclass(frozen=True)
class Block:
    """A program as a whole: `run_min` of water at each start, a start every `every_min` minutes."""

    way: Way
    pattern: DayPattern
    run_min: int
    every_min: int

    @property
    def length_min(self) -> int:
        """From its first start to the end of its last run [min]."""
        return (self.way.starts - 1) * self.every_min + self.run_min

    @property
    def latest_min(self) -> int:
        """The latest first start: all starts before midnight, the last run over in time."""
        last = LAST_START_MIN - (self.way.starts - 1) * self.every_min
        return min(last, self.way.closes_min - self.length_min)


def clash(one: Block, other: Block, turns: Turns, *, later: int = 0) -> bool:
    """Whether the other comes on the same day, or so many days later, and may not run beside it."""
    return turns(one.way.task, other.way.task) and one.pattern.meets(other.pattern, later=later)


def place(blocks: Sequence[Block], turns: Turns) -> list[int] | None:
    """Return the first start of each program [min of the day], or None where none is found.

    Each program ends before another begins. Of two that clash one comes first: both orders are
    tried, pair by pair, which is exact up to a bound on the tries.

    Parameters
    ----------
    blocks : the programs.
    turns : whether two controllers, by number, must take turns; one with itself always does.
    """
    everywhere = [(i, j) for i in range(len(blocks)) for j in range(len(blocks)) if i != j]
    fixed = [
        (i, j, blocks[i].length_min - MIN_PER_DAY)
        for i, j in everywhere
        if clash(blocks[i], blocks[j], turns, later=1)
    ]
    pairs = [(i, j) for i, j in everywhere if i < j and clash(blocks[i], blocks[j], turns)]
    open_lists, tries = [fixed], 0
    while open_lists and tries < MOST_TRIES:
        arcs, tries = open_lists.pop(), tries + 1
        begins = _earliest(blocks, arcs)
        if begins is None:
            continue
        meeting = next((pair for pair in pairs if _overlap(blocks, begins, *pair)), None)
        if meeting is None:
            return begins
        i, j = meeting
        open_lists += [
            [*arcs, (j, i, blocks[j].length_min)],
            [*arcs, (i, j, blocks[i].length_min)],
        ]
    return None


def _earliest(blocks: Sequence[Block], arcs: list[Arc]) -> list[int] | None:
    """The least begins that keep all arcs; None as soon as one is later than it may be."""
    begins = [block.way.opens_min for block in blocks]
    if any(begin > block.latest_min for begin, block in zip(begins, blocks, strict=True)):
        return None
    moved = True
    while moved:
        moved = False
        for first, second, delay in arcs:
            if begins[first] + delay > begins[second]:
                begins[second], moved = begins[first] + delay, True
                if begins[second] > blocks[second].latest_min:
                    return None
    return begins


def _overlap(blocks: Sequence[Block], begins: list[int], i: int, j: int) -> bool:
    return (
        begins[i] < begins[j] + blocks[j].length_min
        and begins[j] < begins[i] + blocks[i].length_min
    )
