"""A setting as a person types it in: days, minutes, cycles and the soak between them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from properties.domain.units import System
from scheduling.domain.intervals import EVERY_DAY, WEEK
from scheduling.domain.notice_words import NoticeWords
from scheduling.domain.programs_patterns import ODD, DayPattern

OFF: Final = "off"


@dataclass(frozen=True, kw_only=True)
class ZoneSetting:
    """What the plan of a zone sets for a month; without days between it is off."""

    days_between: int | None
    weekdays: tuple[int, ...] | None
    waterings_per_day: int
    minutes: float
    cycles: int
    cycle_min: float
    soak_min: float

    @property
    def is_off(self) -> bool:
        """Whether it never waters."""
        return self.days_between is None or not self.minutes

    @property
    def week_min(self) -> float:
        """How long the zone runs in a usual week [min]."""
        if self.days_between is None or not self.minutes:
            return 0.0
        days = WEEK / self.days_between if self.weekdays is None else len(self.weekdays)
        return days * self.waterings_per_day * self.minutes


def zone_setting(month: Mapping[str, Any]) -> ZoneSetting:
    """Return what a month of a stored plan (`WateringPlan.months`) sets."""
    weekdays = month["weekdays"]
    return ZoneSetting(
        days_between=month["days_between"],
        weekdays=None if weekdays is None else tuple(weekdays),
        waterings_per_day=month["waterings_per_day"],
        minutes=month["minutes"],
        cycles=month["cycles"],
        cycle_min=month["cycle_min"],
        soak_min=month["soak_min"],
    )


def setting_text(setting: ZoneSetting, words: NoticeWords) -> str:
    """Return what to set, such as "every 2 days, 14 min"."""
    typed = words.settings
    if setting.days_between is None or setting.is_off:
        return typed.off
    parts = [_plan_days(setting.weekdays, setting.days_between, words), _minutes(setting, words)]
    if setting.waterings_per_day > 1:
        parts.append(typed.times_a_day.format(times=setting.waterings_per_day))
    return typed.list_gap.join(parts)


def days_text(
    pattern: DayPattern | None, words: NoticeWords, system: System, first: dt.date | None = None
) -> str:
    """Return the days of a program; `first` is the day from which an interval counts, if told."""
    typed = words.settings
    if pattern is None:
        return typed.off
    if pattern.every_days == 1 or set(pattern.weekdays) == EVERY_DAY:
        return typed.daily
    if pattern.weekdays:
        return typed.list_gap.join(_weekdays(pattern.weekdays, words))
    if pattern.parity is not None:
        return typed.odd if pattern.parity == ODD else typed.even
    if first is None:
        return typed.every_days.format(days=pattern.every_days)
    date = words.date(first, system)
    return typed.every_days_from.format(days=pattern.every_days, date=date)


def _plan_days(weekdays: Iterable[int] | None, between: int, words: NoticeWords) -> str:
    if weekdays is not None:
        return " ".join(_weekdays(weekdays, words))
    return words.settings.daily if between == 1 else words.settings.every_days.format(days=between)


def _weekdays(days: Iterable[int], words: NoticeWords) -> list[str]:
    return [words.times.weekdays[day] for day in sorted(days)]


def _minutes(setting: ZoneSetting, words: NoticeWords) -> str:
    minutes = f"{setting.minutes:g}"
    if setting.cycles <= 1:
        return words.settings.minutes.format(minutes=minutes)
    form = words.settings.cycles if setting.soak_min else words.settings.cycles_in_a_row
    return form.format(
        minutes=minutes, cycles=setting.cycles, cycle=f"{setting.cycle_min:g}",
        soak=f"{setting.soak_min:g}",
    )  # fmt: skip
