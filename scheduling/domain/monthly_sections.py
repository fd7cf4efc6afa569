"""The part of a monthly notice that is read before the controller: one table for each program."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final

from properties.domain.units import System
from scheduling.domain.monthly_facts import (
    ClientWord,
    ControllerSteps,
    FittedSteps,
    KnownState,
    MonthlyFacts,
    Source,
    ZoneStep,
)
from scheduling.domain.notice_content import NoticeSection, NoticeTable
from scheduling.domain.notice_words import NoticeWords
from scheduling.domain.program_days import first_date
from scheduling.domain.program_steps import (
    DaysStep,
    MinutesStep,
    PercentStep,
    SetProgram,
    StartsStep,
    Step,
)
from scheduling.domain.programs import DayPattern
from scheduling.domain.setting_words import days_text, setting_text

Row = tuple[str, ...]
_MANY: Final = 4
"""From so many zones on that are set alike they are told in one row."""


def controller_sections(
    each: ControllerSteps, facts: MonthlyFacts, system: System, words: NoticeWords
) -> Iterator[NoticeSection]:
    """Yield what a controller is to be set to: its programs, then the zones outside of them."""
    if each.fitted is not None:
        yield from _Programs(each, each.fitted, facts, system, words).sections()
    if each.zones:
        yield _zones_section(each, facts, system, words)


def _zones_section(
    each: ControllerSteps, facts: MonthlyFacts, system: System, words: NoticeWords
) -> NoticeSection:
    """The zones by their plans: what was told last, and what holds now."""
    name = each.name or words.controllers.by_hand
    if each.fitted is not None:
        name = words.controllers.other_zones.format(controller=name)
    told = _himself(each.himself, facts, system, words)
    from_day = words.tables.after.format(date=words.date(facts.from_date, system))
    first = all(zone.was is None for zone in each.zones)
    if any(zone.is_estimated for zone in each.zones):
        told.append(words.controllers.estimated)
    if first or each.himself is not None:
        after = words.tables.ours if each.himself is not None else from_day
        rows = [(_label(zone, words), setting_text(zone.now, words)) for zone in each.zones]
        return _section(name, told, (words.tables.zone, after), rows)
    before = words.tables.before.format(month=words.month(facts.told_month or facts.first))
    changes = [(_label(zone, words), _was(zone, words), _now(zone, words)) for zone in each.zones]
    return _section(name, told, (words.tables.zone, before, from_day), changes)


def _himself(
    himself: ClientWord | None, facts: MonthlyFacts, system: System, words: NoticeWords
) -> list[str]:
    """Ask the client who set his controller himself; the second time he is left alone."""
    if himself is None:
        return []
    sentence = words.controllers.left_alone if himself.was_asked else words.controllers.asked
    date, month = words.date(himself.on, system), words.month(facts.first)
    return [sentence.format(date=date, month=month)]


def _label(zone: ZoneStep, words: NoticeWords) -> str:
    return words.tables.estimated.format(zone=zone.label) if zone.is_estimated else zone.label


def _was(zone: ZoneStep, words: NoticeWords) -> str:
    return words.tables.new if zone.was is None else setting_text(zone.was, words)


def _now(zone: ZoneStep, words: NoticeWords) -> str:
    return setting_text(zone.now, words) if zone.changes else words.tables.as_before


def _section(
    heading: str, paragraphs: Iterable[str], headings: Row, rows: Sequence[Row]
) -> NoticeSection:
    table = NoticeTable(headings, tuple(rows)) if rows else None
    return NoticeSection(heading, tuple(paragraphs), table)


def _runs(
    steps: Sequence[MinutesStep], is_next: Callable[[MinutesStep, MinutesStep], bool]
) -> list[list[MinutesStep]]:
    """Return steps in rows of those that follow each other."""
    runs: list[list[MinutesStep]] = []
    for step in steps:
        if runs and is_next(runs[-1][-1], step):
            runs[-1].append(step)
        else:
            runs.append([step])
    return runs


class _Programs:
    """Writes the programs of one controller: only what differs, or all if nobody knows."""

    def __init__(
        self,
        each: ControllerSteps,
        fitted: FittedSteps,
        facts: MonthlyFacts,
        system: System,
        words: NoticeWords,
    ) -> None:
        self._each, self._fitted, self._facts = each, fitted, facts
        self._system, self._words = system, words
        self._month = words.month(facts.first)

    def sections(self) -> Iterator[NoticeSection]:
        """Yield the controller with its percentage, then its programs."""
        if self._fitted.now is None:
            yield from self._all_of_it()
        elif not self._fitted.steps:
            yield NoticeSection(self._each.name, (self._nothing(),))
        else:
            yield from self._differences(self._fitted.now)

    def _all_of_it(self) -> Iterator[NoticeSection]:
        heads = (self._words.tables.what, self._words.tables.set_to)
        percent = self._percent(self._fitted.then.percent)
        told = [self._words.controllers.unknown, *self._estimated(self._used())]
        rows = [(self._words.tables.percent, percent)]
        yield _section(self._each.name, told, heads, rows)
        for program in self._fitted.then.running:
            yield _section(self._heading(program.name), (), heads, list(self._whole(program)))

    def _whole(self, program: SetProgram) -> Iterator[Row]:
        tables = self._words.tables
        yield tables.days, self._days(program.pattern, starts_on=True)
        yield tables.starts, self._starts(program.starts)
        starts = len(program.starts)
        steps = [
            MinutesStep(program.name, zone, 0, minutes, starts)
            for zone, minutes in program.minutes.items()
        ]
        yield from ((zones, after) for zones, _, after in self._zone_rows(steps))

    def _differences(self, now: KnownState) -> Iterator[NoticeSection]:
        heads = (self._words.tables.what, *self._before_after())
        steps = self._fitted.steps
        percents = [step for step in steps if isinstance(step, PercentStep)]
        of_programs = [step for step in steps if not isinstance(step, PercentStep)]
        changed = {step.zone for step in of_programs if isinstance(step, MinutesStep)}
        told = [self._origin(now), *self._totals(now), *self._estimated(changed)]
        yield _section(self._each.name, told, heads, [self._row(step) for step in percents])
        for name, group in groupby(of_programs, key=lambda step: step.program):
            yield _section(self._heading(name), (), heads, self._rows(list(group)))

    def _before_after(self) -> tuple[str, str]:
        tables = self._words.tables
        return (tables.is_now, tables.ours) if self._each.himself else (tables.was, tables.set_to)

    def _nothing(self) -> str:
        himself, controllers = self._each.himself, self._words.controllers
        if himself is None:
            return controllers.nothing.format(month=self._month)
        date = self._words.date(himself.on, self._system)
        return controllers.his_suits.format(date=date, month=self._month)

    def _origin(self, now: KnownState) -> str:
        """From when and by whom the settings are that stand as what it was."""
        controllers = self._words.controllers
        if self._each.himself is not None:
            return _himself(self._each.himself, self._facts, self._system, self._words)[0]
        sentences = {
            Source.FOUND: controllers.found,
            Source.SET_BY_US: controllers.set_by_us,
            Source.OUR_NOTICE: controllers.our_notice,
        }
        return sentences[now.source].format(
            date=self._words.date(now.since, self._system), month=self._words.month(now.since)
        )

    def _totals(self, now: KnownState) -> list[str]:
        before, after = round(now.state.week_min), round(self._fitted.then.week_min)
        if not after or before == after or self._each.himself is not None:
            return []
        return [self._words.controllers.totals.format(before=before, after=after)]

    def _rows(self, steps: Sequence[Step]) -> list[Row]:
        minutes = [step for step in steps if isinstance(step, MinutesStep)]
        others = [self._row(step) for step in steps if not isinstance(step, MinutesStep)]
        return [*others, *self._zone_rows(minutes)]

    def _zone_rows(self, steps: Sequence[MinutesStep]) -> Iterator[Row]:
        """Yield a row for each zone; many of one kind whose numbers follow each other are one."""
        for alike in _runs(steps, self._is_next):
            before, after = self._minutes(alike[0].before, 1), alike[0].after
            settings = before, self._minutes(after, alike[0].starts)
            if len(alike) < _MANY:
                yield from ((self._zone(step.zone), *settings) for step in alike)
            else:
                yield (self._zones(alike), *settings)

    def _is_next(self, one: MinutesStep, other: MinutesStep) -> bool:
        names, estimated = self._fitted.zones, self._fitted.estimated
        if one.zone not in names or other.zone not in names:
            return False
        same = (one.before, one.after) == (other.before, other.after)
        same_kind = (one.zone in estimated) == (other.zone in estimated)
        return same and same_kind and names[other.zone].number == names[one.zone].number + 1

    def _zones(self, steps: Sequence[MinutesStep]) -> str:
        names = self._fitted.zones
        line = self._words.tables.zones_of_program.format(
            first=names[steps[0].zone].number, last=names[steps[-1].zone].number
        )
        return self._marked(line, steps[0].zone)

    def _row(self, step: PercentStep | DaysStep | StartsStep) -> Row:
        tables = self._words.tables
        if isinstance(step, PercentStep):
            return tables.percent, self._percent(step.before), self._percent(step.after)
        if isinstance(step, DaysStep):
            after = self._days(step.after, starts_on=True)
            return tables.days, self._days(step.before), after
        return tables.starts, self._starts(step.before), self._starts(step.after)

    def _days(self, pattern: DayPattern | None, *, starts_on: bool = False) -> str:
        first = first_date(pattern, self._facts.from_date) if starts_on else None
        return days_text(pattern, self._words, self._system, first)

    def _starts(self, starts: Iterable[dt.time]) -> str:
        settings = self._words.settings
        times = [self._words.time(start, self._system) for start in sorted(starts)]
        return settings.list_gap.join(times) or settings.no_starts

    def _minutes(self, minutes: int, starts: int) -> str:
        settings = self._words.settings
        form = settings.minutes_each_start if minutes and starts > 1 else settings.minutes
        return form.format(minutes=minutes)

    def _percent(self, percent: int) -> str:
        return self._words.settings.percent.format(percent=percent)

    def _heading(self, program: str) -> str:
        return self._words.controllers.program.format(controller=self._each.name, program=program)

    def _zone(self, zone: str) -> str:
        label = self._fitted.zones[zone].label if zone in self._fitted.zones else zone
        return self._marked(self._words.tables.zone_of_program.format(zone=label), zone)

    def _marked(self, line: str, zone: str) -> str:
        is_estimated = zone in self._fitted.estimated
        return self._words.tables.estimated.format(zone=line) if is_estimated else line

    def _estimated(self, zones: Iterable[str]) -> list[str]:
        is_any = bool(self._fitted.estimated.intersection(zones))
        return [self._words.controllers.estimated] if is_any else []

    def _used(self) -> set[str]:
        return {zone for program in self._fitted.then.running for zone in program.minutes}
