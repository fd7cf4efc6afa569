"""What to change on a controller, from what it is set to now to what was fitted."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from properties.domain.units import System
from scheduling.domain.program_days import days_words
from scheduling.domain.program_table import ZoneName, time_text
from scheduling.domain.programs import DayPattern
from scheduling.domain.setting_words import OFF

NOTHING: Final = "Nothing to change."
_NONE: Final = "none"
_COUNTS: Final = ("no start", "one start", "two starts", "three starts", "four starts")


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


@dataclass(frozen=True, kw_only=True)
class Change:
    """One thing to change: of a program (None: of the controller), and of a zone in it (or None).

    `field` is percent, days, starts or minutes; `before` and `after` are as a person reads them.
    """

    program: str | None
    field: str
    before: str
    after: str
    sentence: str
    zone: str | None = None


@dataclass(frozen=True)
class _Pair:
    """A program as it is, and as it should be; the name is the one on the controller, if any."""

    name: str
    now: SetProgram | None
    then: SetProgram | None


def program_changes(
    now: Sequence[SetProgram],
    then: Sequence[SetProgram],
    *,
    percents: tuple[int, int],
    zones: Mapping[str, ZoneName],
    units: System,
) -> tuple[Change, ...]:
    """Return what to change, program by program; nothing where the controller waters so already.

    1. Programs that never water count as absent.
    2. Each program is compared with the one that shares most of its zones, then of its name, so
       that the letters need not agree.
    3. Where a letter is taken, the next free one is used.

    Parameters
    ----------
    now, then : what is set, and what should be.
    percents : the seasonal percentage now and then [%].
    zones : the names of the zones by id.
    units : how times of day are written.
    """
    before, after = percents
    found = []
    if before != after:
        sentence = f"Seasonal percentage: {before} % -> {after} %"
        found.append(
            Change(program=None, field="percent", before=f"{before} %", after=f"{after} %",
                   sentence=sentence)
        )  # fmt: skip
    running = [one for one in now if one.runs]
    for pair in _pairs(running, [one for one in then if one.runs], [one.name for one in now]):
        found += _Writer(pair, zones, units).changes()
    return tuple(found)


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
    return _days(program), sorted(program.starts), dict(program.minutes)


def _free_name(wanted: str, names: set[str], idle: Sequence[str]) -> str:
    letters = (wanted, *sorted(idle), *(chr(code) for code in range(ord("A"), ord("Z") + 1)))
    return next(name for name in letters if name not in names)


class _Writer:
    """Writes the changes of one program."""

    def __init__(self, pair: _Pair, zones: Mapping[str, ZoneName], units: System) -> None:
        self._pair, self._zones, self._units = pair, zones, units

    def changes(self) -> Iterator[Change]:
        """Yield what changes of the program: days, starts, minutes; or that it is switched off."""
        now, then = self._pair.now, self._pair.then
        if then is None:
            yield self._change("days", _days(now), OFF, "switch it off")
            return
        if _days(now) != _days(then):
            yield self._change("days", _days(now), _days(then))
        if self._starts(now) != self._starts(then):
            yield self._change("starts", self._starts(now), self._starts(then))
        yield from self._minutes(now, then)

    def _minutes(self, now: SetProgram | None, then: SetProgram) -> Iterator[Change]:
        had = {} if now is None else now.minutes
        repeats = len(then.starts)
        for zone in sorted({*had, *then.minutes}, key=self._order):
            before, after = had.get(zone, 0), then.minutes.get(zone, 0)
            if before != after:
                times = f", {_times(repeats)}" if after and repeats > 1 else ""
                label = self._label(zone)
                what = f"zone {label}: {before} -> {after} min{times}"
                yield self._change(
                    "minutes", f"{before} min", f"{after} min{times}", what, zone=zone
                )

    def _change(
        self, field: str, before: str, after: str, what: str = "", *, zone: str | None = None
    ) -> Change:
        name = self._pair.name
        sentence = f"Program {name}: {what or f'{field} {before} -> {after}'}"
        return Change(
            program=name, field=field, before=before, after=after, sentence=sentence, zone=zone
        )

    def _starts(self, program: SetProgram | None) -> str:
        starts = () if program is None else sorted(program.starts)
        return ", ".join(time_text(start, self._units) for start in starts) or _NONE

    def _label(self, zone: str) -> str:
        return self._zones[zone].label if zone in self._zones else zone

    def _order(self, zone: str) -> tuple[int, str]:
        return (self._zones[zone].number if zone in self._zones else 0), zone


def _days(program: SetProgram | None) -> str:
    return OFF if program is None else days_words(program.pattern)


def _times(starts: int) -> str:
    return _COUNTS[starts] if starts < len(_COUNTS) else f"{starts} starts"
