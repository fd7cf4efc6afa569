"""What-if: one change of a zone or of its schedule, to be replayed beside what it changes."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace
from typing import Final

from audits.domain.found_program import SEASONAL_PERCENT
from properties.domain.errors import InvalidInputError, RefusedError
from scheduling.domain.bounds import number_within
from scheduling.domain.margin import ENOUGH_CUPS
from scheduling.domain.program_waterings import MONTHS
from scheduling.domain.programs_patterns import DayPattern
from scheduling.domain.replay_schedules import (
    MOST_MINUTES_FACTOR,
    RainSkip,
    ReplayCase,
    SetSchedule,
)

_PERCENT: Final = 100.0
_DAYS_PER_WEEK: Final = 7


@dataclass(frozen=True, kw_only=True)
class Change(ABC):
    """One change; it concerns the zones that it names, or all where it names none."""

    zone_ids: frozenset[Hashable] = frozenset()

    def applied_to(self, case: ReplayCase) -> ReplayCase:
        """Return the case as it is after the change.

        Raises
        ------
        RefusedError
            Where the change cannot be made in this case, such as other days for the ideal.
        """
        if self.zone_ids and case.zone.zone_id not in self.zone_ids:
            return case
        return self._changed(case)

    @abstractmethod
    def _changed(self, case: ReplayCase) -> ReplayCase: ...


@dataclass(frozen=True, kw_only=True)
class MendFaults(Change):
    """Faults are mended: the zone waters as evenly as `du_lq`, or as is expected of the repair.

    With `shorten_runs` the minutes of a set schedule go down with the run-time multiplier, so that
    the roots get what they got; without it the roots get more. An ideal is shortened by itself.
    """

    du_lq: float | None = None
    shorten_runs: bool = True

    def __post_init__(self) -> None:
        if self.du_lq is not None:
            number_within(self.du_lq, 0.05, 1.0, field="du_lq")

    def _changed(self, case: ReplayCase) -> ReplayCase:
        zone = case.zone
        after = zone.expected_du_lq if self.du_lq is None else self.du_lq
        if after is None:
            raise RefusedError(
                "How evenly the zone waters once it is mended is not known.",
                code="no-expected-uniformity", field="du_lq",
                remedy="Give the uniformity to expect, or test the zone with separate cups.",
            )  # fmt: skip
        facts = replace(zone.facts, du_lq=after, cups=ENOUGH_CUPS, pooled=False)
        mended = replace(zone, facts=facts, efficiency=None)
        if mended.net_fraction < zone.net_fraction:
            raise RefusedError(
                "The zone waters more evenly already than it would after the repair.",
                code="no-better", field="du_lq",
                remedy="Give a higher uniformity, or leave the zone out of this change.",
            )  # fmt: skip
        if not (self.shorten_runs and isinstance(case.schedule, SetSchedule)):
            return ReplayCase(mended, case.schedule)
        shorter = zone.net_fraction / mended.net_fraction
        return ReplayCase(mended, _with_minutes(case.schedule, shorter))


@dataclass(frozen=True, kw_only=True)
class SwapNozzles(Change):
    """Other nozzles: the zone waters at `rate_mm_h`, 0.1 to 1000, for the minutes that are set."""

    rate_mm_h: float

    def __post_init__(self) -> None:
        number_within(self.rate_mm_h, 0.1, 1000.0, field="rate_mm_h")

    def _changed(self, case: ReplayCase) -> ReplayCase:
        facts = replace(case.zone.facts, rate_mm_h=self.rate_mm_h)
        zone = replace(case.zone, facts=facts, rate_interval_mm_h=None)
        return ReplayCase(zone, case.schedule)


@dataclass(frozen=True, kw_only=True)
class CutArea(Change):
    """Part of the area is no longer watered [%], 1 to 99; its heads go with it, the rate stays."""

    cut_percent: float

    def __post_init__(self) -> None:
        number_within(self.cut_percent, 1.0, 99.0, field="cut_percent")

    def _changed(self, case: ReplayCase) -> ReplayCase:
        facts = case.zone.facts
        if facts.area_m2 is None:
            raise RefusedError(
                "The area of the zone is not known.",
                code="no-area", field="area_m2", remedy="Enter the zone's area.",
            )  # fmt: skip
        left = facts.area_m2 * (1.0 - self.cut_percent / _PERCENT)
        return ReplayCase(replace(case.zone, facts=replace(facts, area_m2=left)), case.schedule)


@dataclass(frozen=True, kw_only=True)
class ChangeDays(Change):
    """All programs of the zone run on other weekdays (0 = Monday), or every so many days."""

    weekdays: frozenset[int] | None = None
    interval_days: int | None = None

    def __post_init__(self) -> None:
        if (self.weekdays is None) == (self.interval_days is None):
            raise InvalidInputError(
                "A program runs either on weekdays or every so many days.",
                field="weekdays", code="ambiguous-days", remedy="Give exactly one of the two.",
            )  # fmt: skip
        if self.weekdays is not None and not self._are_days(self.weekdays):
            raise InvalidInputError(
                "There is no such weekday.",
                field="weekdays", code="bad-days", remedy="Give days from 0 (Monday) to 6.",
            )  # fmt: skip
        if self.interval_days is not None:
            number_within(self.interval_days, 1, 31, field="interval_days")

    @staticmethod
    def _are_days(days: frozenset[int]) -> bool:
        return bool(days) and days <= frozenset(range(_DAYS_PER_WEEK))

    def _changed(self, case: ReplayCase) -> ReplayCase:
        schedule = _set_schedule(case)
        days = DayPattern(
            weekdays=tuple(sorted(self.weekdays or ())), every_days=self.interval_days
        )
        programs = tuple(replace(program, days=days) for program in schedule.programs)
        return ReplayCase(case.zone, replace(schedule, programs=programs))


@dataclass(frozen=True, kw_only=True)
class ChangeMinutes(Change):
    """All runs of the zone last `percent` of what is set, 0 to 1000."""

    percent: float

    def __post_init__(self) -> None:
        number_within(self.percent, 0.0, MOST_MINUTES_FACTOR * _PERCENT, field="percent")

    def _changed(self, case: ReplayCase) -> ReplayCase:
        schedule = _with_minutes(_set_schedule(case), self.percent / _PERCENT)
        return ReplayCase(case.zone, schedule)


@dataclass(frozen=True, kw_only=True)
class AddRainSensor(Change):
    """A sensor that skips `days` days, 1 to 31, after a day of `rain_mm` or more, 0.1 to 200."""

    rain_mm: float
    days: int

    def __post_init__(self) -> None:
        RainSkip(rain_mm=self.rain_mm, days=self.days)

    def _changed(self, case: ReplayCase) -> ReplayCase:
        skip = RainSkip(rain_mm=self.rain_mm, days=self.days)
        return ReplayCase(case.zone, replace(_set_schedule(case), rain_skip=skip))


@dataclass(frozen=True, kw_only=True)
class SetPercents(Change):
    """The seasonal percentage is set anew for every month, January to December, 0 to 300."""

    seasonal_percent: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.seasonal_percent) != MONTHS:
            raise InvalidInputError(
                f"seasonal_percent has {len(self.seasonal_percent)} values.",
                field="seasonal_percent", code="twelve-months",
                remedy="Give twelve, January to December.",
            )  # fmt: skip
        SEASONAL_PERCENT.numbers(self.seasonal_percent, field="seasonal_percent")

    def _changed(self, case: ReplayCase) -> ReplayCase:
        schedule = replace(_set_schedule(case), monthly_percent=self.seasonal_percent)
        return ReplayCase(case.zone, schedule)


def changed(case: ReplayCase, changes: Iterable[Change]) -> ReplayCase:
    """Return the case after all changes, made in their order."""
    for change in changes:
        case = change.applied_to(case)
    return case


def _set_schedule(case: ReplayCase) -> SetSchedule:
    if isinstance(case.schedule, SetSchedule):
        return case.schedule
    raise RefusedError(
        "The ideal follows the weather: it has no days, minutes or percentage to change.",
        code="nothing-set", field="changes",
        remedy="Make this change to the found program or to a given one.",
    )  # fmt: skip


def _with_minutes(schedule: SetSchedule, factor: float) -> SetSchedule:
    return replace(schedule, minutes_factor=schedule.minutes_factor * factor)
