"""What one rule lets one zone do on one date: its minutes and its caps, with what it relieves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules import (
    DistrictRules,
    Purpose,
    TestRuns,
    WateringRule,
)
from properties.domain.watering_rules_audience import Place, ZoneUse
from properties.domain.watering_rules_hours import (
    DAY_MIN,
    WHOLE_DAY,
    HourRange,
    Ranges,
    clipped,
    merged,
    moved,
)

_DAY: Final = timedelta(days=1)
_HOUR_MIN: Final = 60


@dataclass(frozen=True, kw_only=True)
class Case:
    """A zone at a place and why it is to run; `applied_at` is of a treatment.

    Without that moment a treatment counts as applied on the date that is asked for.
    """

    place: Place
    use: ZoneUse
    purpose: Purpose = Purpose.WATERING
    applied_at: datetime | None = None

    def __post_init__(self) -> None:
        if self.applied_at is not None and self.applied_at.tzinfo is None:
            raise InvalidInputError(
                "The moment of the treatment has no time zone.",
                field="applied_at", remedy="Give it with an offset, such as +00:00.",
            )  # fmt: skip


@dataclass(frozen=True)
class Caps:
    """The most that one zone may get on one day; None where nothing caps it."""

    minutes: float | None = None
    depth_mm: float | None = None

    def with_caps(self, other: Caps) -> Caps:
        """Return the stricter of both."""
        return Caps(least(self.minutes, other.minutes), least(self.depth_mm, other.depth_mm))


def least(first: float | None, second: float | None) -> float | None:
    """Return the lower of two caps; None caps nothing."""
    known = [cap for cap in (first, second) if cap is not None]
    return min(known) if known else None


def holding(district: DistrictRules, case: Case, day: date) -> tuple[WateringRule, ...]:
    """Return the rules that hold for a case on a date."""
    return tuple(
        rule
        for rule in district.in_force(day)
        if rule.audience.has(case.place, case.use)
        and rule.period.holds_on(day, case.place.time_zone)
    )


def minutes_of(rule: WateringRule, case: Case, day: date, *, held_before: bool) -> Ranges:
    """Return the minutes of a date on which a rule lets the zone run.

    `held_before`: the rule held on the day before too, so that its night may run on into this.
    """
    own = clipped(windows_begun(rule, case, day), 0, DAY_MIN)
    if not held_before or day == date.min:
        return own
    night = clipped(windows_begun(rule, case, day - _DAY), DAY_MIN, 2 * DAY_MIN)
    return merged((*own, *moved(night, -DAY_MIN)))


def windows_begun(rule: WateringRule, case: Case, day: date) -> Ranges:
    """Return the windows that a rule opens on a date; they may run on into the next."""
    is_own_day = not rule.is_ban and day.weekday() in rule.weekdays
    return merged((*(rule.hours if is_own_day else ()), *_relieved(rule, case, day)))


def caps_of(rule: WateringRule, case: Case, day: date) -> Caps:
    """Return what a rule caps: of a free test run only the run's own length."""
    if case.purpose is Purpose.TEST_RUN and rule.test_runs is TestRuns.FREE:
        return Caps(rule.test_run_cap_min)
    relief = rule.treatment if _treatment_window(rule, case, day) else None
    depth_mm = relief.at_most_mm if relief else None
    return Caps(rule.minutes_cap, least(rule.depth_cap_mm, depth_mm))


def _relieved(rule: WateringRule, case: Case, day: date) -> Ranges:
    if case.purpose is Purpose.TEST_RUN and rule.test_runs is TestRuns.FREE:
        return WHOLE_DAY
    return (*_planting_window(rule, case, day), *_treatment_window(rule, case, day))


def _planting_window(rule: WateringRule, case: Case, day: date) -> Ranges:
    relief = rule.planting
    if relief is None or not relief.frees(day, case.use.planting_date):
        return ()
    return WHOLE_DAY if relief.frees_hours else rule.hours


def _treatment_window(rule: WateringRule, case: Case, day: date) -> Ranges:
    """Return the minutes of a date in which a treatment may be watered in whatever the day."""
    if case.purpose is not Purpose.TREATMENT or rule.treatment is None:
        return ()
    if case.applied_at is None:
        return WHOLE_DAY
    zone, midnight = case.place.time_zone, datetime.combine(day, datetime.min.time())
    start = case.applied_at.astimezone(zone).replace(tzinfo=None)
    end = case.applied_at + timedelta(hours=rule.treatment.within_h)
    first = math.ceil((start - midnight).total_seconds() / _HOUR_MIN)
    last = math.floor(
        (end.astimezone(zone).replace(tzinfo=None) - midnight).total_seconds() / _HOUR_MIN
    )
    return clipped((HourRange(first, last),), 0, DAY_MIN)
