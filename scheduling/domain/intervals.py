"""How often a zone is watered: the days between, or the days of the week."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

WEEK: Final = 7
EVERY_DAY: Final = frozenset(range(WEEK))
_ROUNDING: Final = 1e-9  # a store of exactly three days of need is three days, not two


@dataclass(frozen=True)
class Ceiling:
    """The most that something may be, and the code of what says so."""

    value: float
    code: str


def lowest(*ceilings: Ceiling) -> Ceiling:
    """Return the ceiling that binds; of equals the first."""
    return min(ceilings, key=lambda ceiling: ceiling.value)


@dataclass(frozen=True)
class Rhythm:
    """The gaps between waterings as they come round, and what decided them.

    `weekdays` are set when the rules name days; `gaps_days` then has one gap for each of them.
    """

    gaps_days: tuple[int, ...]
    weekdays: tuple[int, ...] | None
    code: str

    @property
    def longest_gap_days(self) -> int:
        """The gap that the roots must last over."""
        return max(self.gaps_days)

    @property
    def days_a_week(self) -> float:
        """Watering days in a mean week."""
        return WEEK * len(self.gaps_days) / sum(self.gaps_days)

    def gap_nets_mm(self, need_mm_day: float, capacity: Ceiling) -> tuple[float, ...]:
        """Return what the plants use over each gap, as far as one watering day can give it [mm]."""
        return tuple(min(gap * need_mm_day, capacity.value) for gap in self.gaps_days)

    def net_mm(self, need_mm_day: float, capacity: Ceiling, store_mm: float) -> float:
        """Return the net depth of a watering day that serves all gaps as one setting [mm].

        The mean over the gaps, so that the week comes out right where a single gap would not. Where
        two long gaps follow each other, what the mean leaves open after the first would overdraw
        the roots in the second: there it is as much more as that takes.
        """
        nets = self.gap_nets_mm(need_mm_day, capacity)
        mean_mm = sum(nets) / len(nets)
        if self.longest_gap_days * need_mm_day > store_mm:  # more would drain away
            return mean_mm
        runs = [
            (gap_sum * need_mm_day - store_mm) / (count - 1)
            for count, gap_sum in self._longest_runs()
        ]
        return min(max([mean_mm, *runs]), capacity.value)

    def _longest_runs(self) -> list[tuple[int, int]]:
        """Return for two gaps in a row and more, up to all of them, the most days they come to."""
        count = len(self.gaps_days)
        twice = self.gaps_days * 2
        return [
            (size, max(sum(twice[start : start + size]) for start in range(count)))
            for size in range(2, count + 1)
        ]


def choose_rhythm(
    need_mm_day: float,
    capacity: Ceiling,
    *,
    shortest_days: int,
    longest_days: int,
    allowed_weekdays: frozenset[int] | None = None,
) -> Rhythm:
    """Return the fewest waterings that still meet the need, or come nearest to it.

    Parameters
    ----------
    need_mm_day : what the plants use [mm d-1], above 0.
    capacity : the net depth that one watering day can give at most [mm].
    shortest_days, longest_days : bounds of the zone and the controller [d].
    allowed_weekdays : Monday = 0; None or all seven leave the interval free. Not empty.
    """
    if allowed_weekdays is None or allowed_weekdays == EVERY_DAY:
        return _free_rhythm(need_mm_day, capacity, shortest_days, longest_days)
    return _weekday_rhythm(
        need_mm_day, capacity, shortest_days, longest_days, allowed_weekdays=allowed_weekdays
    )


def _free_rhythm(need: float, capacity: Ceiling, shortest: int, longest: int) -> Rhythm:
    fitting = math.floor(capacity.value / need + _ROUNDING)
    if fitting < shortest:
        return Rhythm((shortest,), None, "shortest-days" if shortest > 1 else capacity.code)
    if fitting > longest:
        return Rhythm((max(longest, shortest),), None, "longest-days")
    return Rhythm((fitting,), None, capacity.code)


def _weekday_rhythm(
    need: float,
    capacity: Ceiling,
    shortest: int,
    longest: int,
    *,
    allowed_weekdays: frozenset[int],
) -> Rhythm:
    """Try every set of allowed days; the longest interval yields where the rules leave no other."""
    spaced = [r for r in _patterns(allowed_weekdays) if min(r.gaps_days) >= shortest]
    close = [r for r in spaced if r.longest_gap_days <= longest] or spaced[:1]

    def rank(rhythm: Rhythm) -> tuple[float, float]:
        nets = rhythm.gap_nets_mm(need, capacity)
        weekly = sum(nets) / len(nets) * rhythm.days_a_week
        return -round(weekly, 9), rhythm.days_a_week

    return min(close, key=rank)  # of equals the first: the one with the shortest longest gap


@lru_cache(maxsize=128)
def _patterns(allowed: frozenset[int]) -> tuple[Rhythm, ...]:
    """Return every rhythm that the allowed weekdays admit, shortest longest gap first.

    Days within the week, and one day every so many weeks.
    """
    days = sorted(allowed)
    sets = [
        chosen for size in range(1, len(days) + 1) for chosen in itertools.combinations(days, size)
    ]
    weekly = [Rhythm(_gaps(chosen), chosen, "weekdays") for chosen in sets]
    sparse = [Rhythm((WEEK * weeks,), (days[0],), "weekdays") for weeks in range(2, 6)]
    return tuple(sorted(weekly + sparse, key=lambda rhythm: rhythm.longest_gap_days))


def _gaps(weekdays: tuple[int, ...]) -> tuple[int, ...]:
    following = (*weekdays[1:], weekdays[0] + WEEK)
    return tuple(after - day for day, after in zip(weekdays, following, strict=True))
