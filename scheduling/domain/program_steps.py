"""What differs between what a controller is set to and what it should be, as values without words.

1. Programs that never water count as absent.
2. Each program is compared with the one that shares most of its zones, then of its name, so that
   the letters need not agree.
3. Where a letter is taken, the next free one is used.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from scheduling.domain.program_days import days_words
from scheduling.domain.program_table import ZoneName
from scheduling.domain.programs import DayPattern

_DAYS_A_WEEK: Final = 7
_WHOLE_PERCENT: Final = 100


@dataclass(frozen=True, kw_only=True)
class SetProgram:
    """A program as it is set: its days (None is off), its starts and minutes by zone."""

    name: str
    pattern: DayPattern | None
    starts: tuple[dt.time, ...]
    minutes: Mapping[str, int]

    @property
    def runs(self) -> bool:
        """Whether it ever waters."""
        return bool(self.pattern and self.starts and self.minutes)

    @property
    def week_min(self) -> float:
        """How long its valves are open in a usual week, at 100 % [min]."""
        if self.pattern is None:
            return 0.0
        gaps = self.pattern.gaps
        mean_gap_days = sum(days * count for days, count in gaps) / sum(n for _, n in gaps)
        return _DAYS_A_WEEK / mean_gap_days * len(self.starts) * sum(self.minutes.values())


@dataclass(frozen=True)
class SetState:
    """All that is set on a controller: its programs and the seasonal percentage [%]."""

    programs: tuple[SetProgram, ...]
    percent: int

    @property
    def running(self) -> tuple[SetProgram, ...]:
        """The programs that water."""
        return tuple(program for program in self.programs if program.runs)

    @property
    def week_min(self) -> float:
        """How long its valves are open in a usual week [min]."""
        return sum(each.week_min for each in self.running) * self.percent / _WHOLE_PERCENT


@dataclass(frozen=True)
class PercentStep:
    """The seasonal percentage of the controller [%]."""

    before: int
    after: int


@dataclass(frozen=True)
class DaysStep:
    """The days of a program; None is off."""

    program: str
    before: DayPattern | None
    after: DayPattern | None


@dataclass(frozen=True)
class StartsStep:
    """The start times of a program, in order."""

    program: str
    before: tuple[dt.time, ...]
    after: tuple[dt.time, ...]


@dataclass(frozen=True)
class MinutesStep:
    """The minutes of a zone in a program; 0 is not in it. `starts`: how often they then run."""

    program: str
    zone: str
    before: int
    after: int
    starts: int


Step = PercentStep | DaysStep | StartsStep | MinutesStep


@dataclass(frozen=True)
class _Pair:
    """A program as it is, and as it should be; the name is the one on the controller, if any."""

    name: str
    now: SetProgram | None
    then: SetProgram | None


def program_steps(now: SetState, then: SetState, zones: Mapping[str, ZoneName]) -> tuple[Step, ...]:
    """Return what to change, program by program; nothing where the controller waters so already.

    Parameters
    ----------
    now, then : what is set, and what should be.
    zones : by id; their numbers give the order.
    """
    steps: list[Step] = []
    if now.percent != then.percent:
        steps.append(PercentStep(now.percent, then.percent))
    for pair in _pairs(now.running, then.running, [one.name for one in now.programs]):
        steps += _steps(pair, zones)
    return tuple(steps)


def _pairs(
    now: Sequence[SetProgram], then: Sequence[SetProgram], taken: Sequence[str]
) -> Iterator[_Pair]:
    """Yield programs that belong together; what is left over is new, or to be switched off."""
    ranked = sorted(
        ((i, j) for i in range(len(now)) for j in range(len(then))),
        key=lambda pair: _unlike(now[pair[0]], then[pair[1]]),
    )
    partner: dict[int, int] = {}
    for i, j in ranked:
        if i not in partner and j not in partner.values():
            partner[i] = j
    pairs = [_Pair(one.name, one, _at(then, partner.get(i))) for i, one in enumerate(now)]
    names = {one.name for one in now}
    idle = [name for name in taken if name not in names]
    for j, one in enumerate(then):
        if j not in partner.values():
            name = _free_name(one.name, names, idle)
            names.add(name)
            pairs.append(_Pair(name, None, one))
    yield from sorted(pairs, key=lambda pair: pair.name)


def _at(programs: Sequence[SetProgram], number: int | None) -> SetProgram | None:
    return None if number is None else programs[number]


def _unlike(one: SetProgram, other: SetProgram) -> tuple[int, bool, bool]:
    shared = len(one.minutes.keys() & other.minutes.keys())
    same = _typed(one) == _typed(other)
    return -shared, not same, one.name != other.name


def _typed(program: SetProgram) -> tuple[str, list[dt.time], dict[str, int]]:
    return days_words(program.pattern), sorted(program.starts), dict(program.minutes)


def _free_name(wanted: str, names: set[str], idle: Sequence[str]) -> str:
    letters = (wanted, *sorted(idle), *(chr(code) for code in range(ord("A"), ord("Z") + 1)))
    return next(name for name in letters if name not in names)


def _steps(pair: _Pair, zones: Mapping[str, ZoneName]) -> Iterator[Step]:
    """Yield what changes of a program: days, starts, minutes; or that it is switched off."""
    now, then = pair.now, pair.then
    pattern = now.pattern if now else None
    if then is None:
        yield DaysStep(pair.name, pattern, None)
        return
    if days_words(pattern) != days_words(then.pattern):
        yield DaysStep(pair.name, pattern, then.pattern)
    starts = tuple(sorted(now.starts)) if now else ()
    if starts != tuple(sorted(then.starts)):
        yield StartsStep(pair.name, starts, tuple(sorted(then.starts)))
    had = now.minutes if now else {}
    for zone in sorted({*had, *then.minutes}, key=lambda zone: _order(zone, zones)):
        before, after = had.get(zone, 0), then.minutes.get(zone, 0)
        if before != after:
            yield MinutesStep(pair.name, zone, before, after, len(then.starts))


def _order(zone: str, zones: Mapping[str, ZoneName]) -> tuple[int, str]:
    return (zones[zone].number if zone in zones else 0), zone
