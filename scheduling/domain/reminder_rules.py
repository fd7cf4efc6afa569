"""When somebody is reminded: the kinds, the rules that an office may change, and their defaults.

A cause makes a reminder due on a date; from `days_ahead` before it on it is told, again after
`repeat_days`, and at most so many times. What is told to one reader counts for him alone.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError

SEASON_OPEN_DAYS: Final = 60
"""So long after its date a season's reminder is still of use (common practice)."""

_COMMON_YEAR: Final = 2026  # any that is no leap year: each year has the date of a season


class ReminderKind(StrEnum):
    """What is reminded of; in this order, so that the nearest dates reach a client first."""

    FROST = "frost"
    APPOINTMENT = "appointment"
    VISITS_TOMORROW = "visits_tomorrow"
    LICENCE = "licence"
    BACKFLOW_TEST = "backflow_test"
    SEASON_START = "season_start"
    WINTER_SHUT_DOWN = "winter_shut_down"
    AGREEMENT = "agreement"
    FOUND_PROGRAM = "found_program"
    AUDIT_RETEST = "audit_retest"
    AUDIT_UNIFORMITY = "audit_uniformity"
    AUDIT_AGE = "audit_age"
    AUDIT_SEASON = "audit_season"


class Audience(StrEnum):
    """Who is reminded: the office by its list, the others by a mail each."""

    OFFICE = "office"
    TECHNICIAN = "technician"
    CLIENT = "client"


_O, _T, _C = Audience.OFFICE, Audience.TECHNICIAN, Audience.CLIENT
ALLOWED: Final[dict[ReminderKind, frozenset[Audience]]] = {
    ReminderKind.FROST: frozenset({_C}),
    ReminderKind.APPOINTMENT: frozenset({_C}),
    ReminderKind.VISITS_TOMORROW: frozenset({_T}),
    ReminderKind.LICENCE: frozenset({_O, _T}),
    ReminderKind.BACKFLOW_TEST: frozenset({_O, _C}),
    ReminderKind.SEASON_START: frozenset({_O, _C}),
    ReminderKind.WINTER_SHUT_DOWN: frozenset({_O, _C}),
    ReminderKind.AGREEMENT: frozenset({_O, _C}),
    ReminderKind.FOUND_PROGRAM: frozenset({_O, _C}),
    ReminderKind.AUDIT_RETEST: frozenset({_O}),
    ReminderKind.AUDIT_UNIFORMITY: frozenset({_O}),
    ReminderKind.AUDIT_AGE: frozenset({_O, _C}),
    ReminderKind.AUDIT_SEASON: frozenset({_O, _C}),
}
"""Whom a kind can be told: there are words for these, and it is their business."""

OF_STAFF: Final = frozenset({ReminderKind.VISITS_TOMORROW, ReminderKind.LICENCE})
"""Kinds that are about a colleague; the others are about a property."""

SEASONAL: Final = frozenset(
    {ReminderKind.SEASON_START, ReminderKind.WINTER_SHUT_DOWN, ReminderKind.AUDIT_SEASON}
)
"""Kinds that come back each year on the date of their rule."""


@dataclass(frozen=True, kw_only=True)
class Rule:
    """One kind's rule.

    `after_days`: from the cause to the due date, such as from the last test to the next;
    `repeat_days` 0: told once; `month` and `day`: of a seasonal kind.
    """

    kind: ReminderKind
    audiences: frozenset[Audience]
    is_on: bool = True
    after_days: int = 0
    days_ahead: int = 0
    repeat_days: int = 0
    most_times: int = 1
    month: int | None = None
    day: int | None = None

    def __post_init__(self) -> None:
        _check_audiences(self)
        _check_season(self)
        if self.most_times > 1 and self.repeat_days == 0:
            raise InvalidInputError(
                "Told more than once, but never again after the first time.",
                field="repeat_days", code="no-repetition",
                remedy="Give the days between two times, or 1 for at most so many times.",
            )  # fmt: skip

    def is_near(self, due_date: dt.date, today: dt.date) -> bool:
        """Return whether the time to tell of a due date has come."""
        return due_date - dt.timedelta(days=self.days_ahead) <= today

    def tells(self, told: int, told_on: dt.date | None, today: dt.date) -> bool:
        """Return whether what was told so many times, last on a day, is to be told today."""
        if told_on is None or told == 0:
            return True
        is_left = told < self.most_times and self.repeat_days > 0
        return is_left and told_on + dt.timedelta(days=self.repeat_days) <= today

    def season_date(self, today: dt.date) -> dt.date | None:
        """Return the date of the season that is near, or that is open still; None between."""
        if self.month is None or self.day is None:
            return None
        for year in (today.year - 1, today.year, today.year + 1):
            date = dt.date(year, self.month, self.day)
            if self.is_near(date, today) and today <= date + dt.timedelta(days=SEASON_OPEN_DAYS):
                return date
        return None


def _check_audiences(rule: Rule) -> None:
    names = ("office", "technician", "client")
    for audience in sorted(rule.audiences - ALLOWED[rule.kind], key=names.index):
        allowed = " or ".join(sorted(ALLOWED[rule.kind]))
        raise InvalidInputError(
            f"This kind is not told to the {audience}.",
            field=f"to_{audience}", code="audience", remedy=f"Tell it to: {allowed}.",
        )  # fmt: skip


def _check_season(rule: Rule) -> None:
    is_seasonal = rule.kind in SEASONAL
    if is_seasonal != (rule.month is not None) or is_seasonal != (rule.day is not None):
        raise InvalidInputError(
            "A season has a month and a day, and no other kind has."
            if is_seasonal
            else "This kind goes by its cause, not by a date of the year.",
            field="month", code="season-date",
            remedy="Give both." if is_seasonal else "Leave both empty.",
        )  # fmt: skip
    if rule.month is None or rule.day is None:
        return
    try:
        dt.date(_COMMON_YEAR, rule.month, rule.day)
    except ValueError:
        raise InvalidInputError(
            f"Not every year has a day {rule.day} of month {rule.month}.",
            field="day", code="season-date", remedy="Give a day that each year has.",
        ) from None  # fmt: skip


# Common practice all: reminded often enough to act, seldom enough to be read.
DEFAULTS: Final[tuple[Rule, ...]] = (
    Rule(kind=ReminderKind.FROST, audiences=frozenset({_C}), days_ahead=6),
    Rule(kind=ReminderKind.APPOINTMENT, audiences=frozenset({_C}), days_ahead=3),
    Rule(kind=ReminderKind.VISITS_TOMORROW, audiences=frozenset({_T}), days_ahead=1),
    Rule(
        kind=ReminderKind.LICENCE, audiences=frozenset({_O, _T}), days_ahead=60, repeat_days=30,
        most_times=3,
    ),
    Rule(
        kind=ReminderKind.BACKFLOW_TEST, audiences=frozenset({_O, _C}), after_days=365,
        days_ahead=30, repeat_days=21, most_times=3,
    ),
    Rule(
        kind=ReminderKind.SEASON_START, audiences=frozenset({_O, _C}), days_ahead=30,
        repeat_days=21, most_times=2, month=4, day=1,
    ),
    Rule(
        kind=ReminderKind.WINTER_SHUT_DOWN, audiences=frozenset({_O, _C}), days_ahead=30,
        repeat_days=21, most_times=2, month=10, day=15,
    ),
    Rule(
        kind=ReminderKind.AGREEMENT, audiences=frozenset({_O, _C}), after_days=14,
        repeat_days=21, most_times=2,
    ),
    Rule(
        kind=ReminderKind.FOUND_PROGRAM, audiences=frozenset({_O, _C}), after_days=14,
        repeat_days=30, most_times=2,
    ),
    Rule(
        kind=ReminderKind.AUDIT_RETEST, audiences=frozenset({_O}), after_days=14, repeat_days=14,
        most_times=3,
    ),
    Rule(
        kind=ReminderKind.AUDIT_UNIFORMITY, audiences=frozenset({_O}), after_days=30,
        repeat_days=60, most_times=3,
    ),
    Rule(
        kind=ReminderKind.AUDIT_AGE, audiences=frozenset({_O}), after_days=730, repeat_days=60,
        most_times=3,
    ),
    Rule(
        kind=ReminderKind.AUDIT_SEASON, audiences=frozenset({_O}), after_days=365, days_ahead=45,
        repeat_days=30, most_times=2, month=4, day=1,
    ),
)  # fmt: skip
