"""What a language has to say for the monthly notice and its letter; each language is one file.

`notice_words_<language>.py` beside this one holds a `WORDS`. A language without one is written to
in English. In braces stands what is filled in; counted words have a form for one and for more.
"""

from __future__ import annotations

import datetime as dt
import importlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from properties.domain.units import System

FALLBACK: Final = "en"
_NOON: Final = 12
_NAME: Final = re.compile(r"[a-z]{2,3}(_[a-z0-9]{2,8})?")

Counted = tuple[str, str]
"""Of one, and of more; `{count}` is the number."""


@dataclass(frozen=True, kw_only=True)
class TimeWords:
    """Days and times. `date` and `time` are by unit system; weekdays begin on Monday."""

    months: tuple[str, ...]
    weekdays: tuple[str, ...]
    date: Mapping[System, str]
    time: Mapping[System, str]
    halves: tuple[str, str]


@dataclass(frozen=True, kw_only=True)
class SettingWords:
    """A setting as a person types it in."""

    off: str
    daily: str
    every_days: str
    every_days_from: str
    odd: str
    even: str
    list_gap: str
    minutes: str
    minutes_each_start: str
    cycles: str
    cycles_in_a_row: str
    times_a_day: str
    percent: str
    no_starts: str


@dataclass(frozen=True, kw_only=True)
class SubjectWords:
    """The first line, before the name of the place."""

    subject: str
    more: str
    less: str
    other: str
    off: str
    first: str
    asked: str
    own: str
    same: str


@dataclass(frozen=True, kw_only=True)
class WhyWords:
    """The weather in a sentence, and what is to be done in the next."""

    same: str
    warmer: str
    cooler: str
    set_too_much: str
    set_too_little: str
    asked: str
    left_alone: str
    nothing: str
    zones: Counted
    settings: Counted
    first: str


@dataclass(frozen=True, kw_only=True)
class ControllerWords:
    """What stands above the tables of a controller."""

    by_hand: str
    program: str
    other_zones: str
    nothing: str
    unknown: str
    found: str
    set_by_us: str
    our_notice: str
    asked: str
    left_alone: str
    his_suits: str
    totals: str
    estimated: str
    first_zones: str


@dataclass(frozen=True, kw_only=True)
class TableWords:
    """Headings and first cells."""

    zone: str
    before: str
    after: str
    what: str
    was: str
    set_to: str
    is_now: str
    ours: str
    as_before: str
    new: str
    percent: str
    days: str
    starts: str
    zone_of_program: str
    zones_of_program: str
    estimated: str


@dataclass(frozen=True, kw_only=True)
class WatchWords:
    """What to watch, and the entry of the calendar."""

    heading: str
    drier: str
    wetter: str
    first_run: str
    off: str
    rules: str
    entry: str
    entry_more: str


@dataclass(frozen=True, kw_only=True)
class LetterWords:
    """What is said around every notice."""

    greeting: str
    why: str
    why_of_place: str
    why_staff: str
    stop: str
    stop_link: str


@dataclass(frozen=True, kw_only=True)
class NoticeWords:
    """All of a language."""

    language: str
    times: TimeWords
    settings: SettingWords
    subjects: SubjectWords
    whys: WhyWords
    controllers: ControllerWords
    tables: TableWords
    watch: WatchWords
    letter: LetterWords

    def month(self, day: dt.date) -> str:
        """Return the name of a day's month."""
        return self.times.months[day.month - 1]

    def date(self, day: dt.date, system: System) -> str:
        """Return day and month, as the reader writes them."""
        return self.times.date[system].format(day=day.day, month=self.month(day))

    def time(self, time: dt.time, system: System) -> str:
        """Return a time of day, as the reader writes it."""
        return self.times.time[system].format(
            hour=time.hour,
            hour_of_half=time.hour % _NOON or _NOON,
            minute=time.minute,
            half=self.times.halves[time.hour >= _NOON],
        )


def counted(words: Counted, count: int) -> str:
    """Return the form of a number."""
    return words[count != 1].format(count=count)


def by_system(*, us: str, metric: str) -> Mapping[System, str]:
    """Return words that differ by the reader's units."""
    return MappingProxyType({"us": us, "metric": metric})


@lru_cache
def notice_words(language: str) -> NoticeWords:
    """Return the words of a language such as "en" or "pt-br"; English where there are none."""
    name = language.lower().replace("-", "_")
    module = f"{__name__}_{name}"
    if not _NAME.fullmatch(name):
        return notice_words(FALLBACK)
    try:
        words: NoticeWords = importlib.import_module(module).WORDS
    except ModuleNotFoundError as missing:
        if missing.name != module or name == FALLBACK:
            raise
        return notice_words(FALLBACK)
    return words
