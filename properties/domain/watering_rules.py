"""What a district lets be watered: rules as data, never as code.

A rule says for whom it is, when it is in force, on which weekdays and in which hours it lets water
run, and how much of it. What it relieves (new plantings, treatments, test runs) it relieves from
itself alone: beside it, every other rule that holds goes on holding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules_audience import Audience
from properties.domain.watering_rules_hours import WHOLE_DAY, Ranges
from properties.domain.watering_rules_periods import Period

EVERY_DAY: Final = frozenset(range(7))
MOST_PLANTING_DAYS: Final = 730
MOST_WITHIN_H: Final = 168.0
MOST_CAP_MIN: Final = 1440.0
MOST_CAP_MM: Final = 200.0


class TestRuns(StrEnum):
    """Whether a technician may run a zone to look at it."""

    __test__ = False  # of technicians, not of pytest

    FREE = "free"
    ON_ALLOWED_DAYS = "on_allowed_days"
    EXEMPTION = "exemption"


class Purpose(StrEnum):
    """Why water is to run."""

    WATERING = "watering"
    TEST_RUN = "test_run"
    TREATMENT = "treatment"


@dataclass(frozen=True)
class PlantingRelief:
    """New plants may be watered on any day at first, then every other day, beside the usual ones.

    The days count from the date of planting, which is the first of them; every other day counts
    from that date too. `frees_hours`: at any hour as well.
    """

    any_days: int
    alternate_days: int = 0
    frees_hours: bool = False

    def __post_init__(self) -> None:
        for name in ("any_days", "alternate_days"):
            if not 0 <= getattr(self, name) <= MOST_PLANTING_DAYS:
                raise InvalidInputError(
                    f"New plants are not new for {getattr(self, name)} days.",
                    field=f"planting_{name}", code="out-of-range",
                    remedy=f"Give 0 to {MOST_PLANTING_DAYS} days.",
                )  # fmt: skip

    def frees(self, day: date, planting_date: date | None) -> bool:
        """Return whether plants of that date may be watered on a day because they are new."""
        if planting_date is None:
            return False
        age_days = (day - planting_date).days
        is_every_other = age_days < self.any_days + self.alternate_days and age_days % 2 == 0
        return age_days >= 0 and (age_days < self.any_days or is_every_other)


@dataclass(frozen=True)
class TreatmentRelief:
    """A treatment may be watered in on any day and at any hour, so much and so soon."""

    at_most_mm: float
    within_h: float

    def __post_init__(self) -> None:
        _check_number(self.at_most_mm, MOST_CAP_MM, "treatment_depth_mm")
        _check_number(self.within_h, MOST_WITHIN_H, "treatment_within_h")


@dataclass(frozen=True, kw_only=True)
class WateringRule:
    """One rule of a district.

    Weekdays count from Monday = 0; the caps hold for one zone on one day [min, mm]. `stage` is the
    drought stage whose rule it is, empty for a usual one; `key` tells callers which row it was.
    """

    name: str
    key: str = ""
    stage: str = ""
    audience: Audience = field(default_factory=Audience)
    period: Period = field(default_factory=Period)
    weekdays: frozenset[int] = EVERY_DAY
    hours: Ranges = WHOLE_DAY
    is_ban: bool = False
    minutes_cap: float | None = None
    depth_cap_mm: float | None = None
    planting: PlantingRelief | None = None
    treatment: TreatmentRelief | None = None
    test_runs: TestRuns = TestRuns.EXEMPTION
    test_run_cap_min: float | None = None

    def __post_init__(self) -> None:
        _check_weekdays(self.weekdays)
        if not self.hours:
            raise InvalidInputError(
                "No hour is left in which to water.",
                field="hours", code="no-hour",
                remedy="Leave an hour open, or say that the rule is a ban.",
            )  # fmt: skip
        if self.is_ban and (self.weekdays != EVERY_DAY or self.hours != WHOLE_DAY):
            raise InvalidInputError(
                "A ban has neither days nor hours.",
                field="is_ban", code="ban-with-days", remedy="Leave weekdays and hours empty.",
            )  # fmt: skip
        _check_number(self.minutes_cap, MOST_CAP_MIN, "minutes_cap")
        _check_number(self.depth_cap_mm, MOST_CAP_MM, "depth_cap_mm")
        _check_number(self.test_run_cap_min, MOST_CAP_MIN, "test_run_cap_min")


@dataclass(frozen=True)
class StagePeriod:
    """A drought stage that was switched on; `replaces_usual` puts the usual rules aside.

    `stage` tells which one it is, `name` what clients are told.
    """

    stage: str
    first_date: date
    last_date: date | None = None
    replaces_usual: bool = False
    name: str = ""

    def covers(self, day: date) -> bool:
        """Return whether the stage is on at a date."""
        return self.first_date <= day and (self.last_date is None or day <= self.last_date)


@dataclass(frozen=True)
class DistrictRules:
    """The rules of a district, and the stages that were and will be on."""

    name: str
    rules: tuple[WateringRule, ...] = ()
    periods: tuple[StagePeriod, ...] = ()

    def stages_on(self, day: date) -> tuple[StagePeriod, ...]:
        """Return the stages that are on at a date."""
        return tuple(period for period in self.periods if period.covers(day))

    def in_force(self, day: date) -> tuple[WateringRule, ...]:
        """Return the rules of the stages that are on at a date, and the usual ones with them."""
        on = self.stages_on(day)
        stages = {period.stage for period in on}
        if not any(period.replaces_usual for period in on):
            stages.add("")
        return tuple(rule for rule in self.rules if rule.stage in stages)


def _check_weekdays(weekdays: frozenset[int]) -> None:
    if not weekdays:
        raise InvalidInputError(
            "No day is left on which to water.",
            field="weekdays", code="no-day",
            remedy="Name a day, leave the field empty for every day, or say that it is a ban.",
        )  # fmt: skip
    if not weekdays <= EVERY_DAY:
        raise InvalidInputError(
            "There is no such weekday.",
            field="weekdays", code="bad-days", remedy="Count from Monday = 0 to Sunday = 6.",
        )  # fmt: skip


def _check_number(value: float | None, most: float, name: str) -> None:
    if value is not None and not (math.isfinite(value) and 0 < value <= most):
        raise InvalidInputError(
            f"{value:g} is not a believable limit.",
            field=name, code="out-of-range", remedy=f"Give a number above 0, up to {most:g}.",
        )  # fmt: skip
