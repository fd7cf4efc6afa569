"""How a zone is watered through past years: by a program that is set, or as the weather asks."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from audits.domain.found_program import SEASONAL_PERCENT
from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within
from scheduling.domain.margin import run_time_margin
from scheduling.domain.program_waterings import (
    MONTHS,
    DatedProgram,
    DatedWaterings,
    Surface,
    waterings_by_month,
)
from scheduling.domain.refill import RefillRule
from scheduling.domain.water_columns import Array
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts, accumulation_of, intake_of

WHOLE_PERCENT: Final = 100.0
ALWAYS_WHOLE: Final = (WHOLE_PERCENT,) * MONTHS
MOST_MINUTES_FACTOR: Final = 10.0
MOST_MM_DAY: Final = 1000.0  # as the water account takes it

_MIN_PER_H: Final = 60.0
_MIN_PER_DAY: Final = 1440.0


@dataclass(frozen=True, kw_only=True)
class ReplayDays:
    """Days in a row, none of them missing: ET0 and rain [mm], and whether plants rest.

    `is_resting` marks the months whose usual nights freeze: sprinklers are off, nothing is counted
    as stress.
    """

    dates: NDArray[np.datetime64]
    et0_mm: Array
    rain_mm: Array
    is_resting: NDArray[np.bool_]

    def __post_init__(self) -> None:
        for name in ("et0_mm", "rain_mm", "is_resting"):
            if getattr(self, name).shape != self.dates.shape:
                raise InvalidInputError(
                    f"{name} has {getattr(self, name).size} values for {self.dates.size} days.",
                    field=name, code="length", remedy="Give one value a day.",
                )  # fmt: skip
        if (np.diff(self.dates).astype(np.int64) != 1).any():
            raise InvalidInputError(
                "The days do not follow one another.",
                field="dates", code="dates", remedy="Give every day once, in order.",
            )  # fmt: skip

    @property
    def month(self) -> NDArray[np.int64]:
        """The month of each day, from 0 for January."""
        months: NDArray[np.int64] = self.dates.astype("datetime64[M]").astype(np.int64) % MONTHS
        return months


@dataclass(frozen=True, kw_only=True)
class RainSkip:
    """A rain sensor: after a day of at least `rain_mm` nothing runs for so many `days`.

    The day of the rain itself still runs: most programs run before its rain.
    """

    rain_mm: float
    days: int

    def __post_init__(self) -> None:
        number_within(self.rain_mm, 0.1, 200.0, field="rain_mm")
        number_within(self.days, 1, 31, field="days")

    def may_run(self, rain_mm: Array) -> NDArray[np.bool_]:
        """Return on which days the sensor lets the program run."""
        wet = rain_mm >= self.rain_mm
        held = np.zeros(wet.shape, dtype=np.bool_)
        for after in range(1, self.days + 1):
            held[after:] |= wet[:-after]
        return ~held


@dataclass(frozen=True, kw_only=True)
class SetSchedule:
    """What a controller is set to: all its programs, of which each runs on its own days.

    monthly_percent : the seasonal percentage, January to December [%], 0 to 300.
    minutes_factor : by how much all minutes are changed, 0 to 10.
    rain_skip : the sensor, where there is one.
    """

    programs: tuple[DatedProgram, ...]
    monthly_percent: tuple[float, ...] = ALWAYS_WHOLE
    minutes_factor: float = 1.0
    rain_skip: RainSkip | None = None

    def __post_init__(self) -> None:
        if len(self.monthly_percent) != MONTHS:
            raise InvalidInputError(
                f"seasonal_percent has {len(self.monthly_percent)} values.",
                field="seasonal_percent", code="twelve-months",
                remedy="Give twelve, January to December.",
            )  # fmt: skip
        SEASONAL_PERCENT.numbers(self.monthly_percent, field="seasonal_percent")
        number_within(self.minutes_factor, 0.0, MOST_MINUTES_FACTOR, field="minutes_factor")

    def day_minutes(self, zone_id: Hashable) -> Array:
        """Return how long each program runs a zone on a day of each month, programs x 12 [min]."""
        minutes = np.zeros((len(self.programs), MONTHS))
        for row, program in zip(minutes, self.programs, strict=True):
            months = [month - 1 for month in program.months]
            row[months] = program.minutes_of(zone_id) * len(program.start_times)
        return minutes * self.percents / WHOLE_PERCENT

    @property
    def percents(self) -> Array:
        """By how much the minutes of each month are scaled in all [%]."""
        return np.array(self.monthly_percent) * self.minutes_factor


@dataclass(frozen=True, kw_only=True)
class IdealSchedule:
    """Each morning the account says whether the zone is due, and how deep (`refill`).

    It keeps to the days and the caps of the zone's limits (`replay_limits`).
    """

    rule: RefillRule = field(default_factory=RefillRule)


Schedule = SetSchedule | IdealSchedule


@dataclass(frozen=True, kw_only=True)
class ReplayZone:
    """A zone as it is replayed.

    `efficiency` is a measured one, 0.05 to 1, that stands in for 1 / run-time multiplier;
    `expected_du_lq` is the uniformity to expect once its faults are mended, where that is known;
    `rate_interval_mm_h` holds the true rate in nine of ten cases, None where nobody measured.
    """

    zone_id: Hashable
    facts: ZoneFacts
    limits: WateringLimits = field(default_factory=WateringLimits)
    efficiency: float | None = None
    expected_du_lq: float | None = None
    rate_interval_mm_h: tuple[float, float] | None = None

    @property
    def net_fraction(self) -> float:
        """Net over gross depth."""
        if self.efficiency is not None:
            return number_within(self.efficiency, 0.05, 1.0, field="efficiency")
        return 1.0 / run_time_margin(self.facts, self.limits).multiplier

    @property
    def rate_errors(self) -> tuple[float, float]:
        """How far the interval reaches below and above the rate, as parts of it."""
        rate_mm_h = self.facts.rate_mm_h
        low, high = self.rate_interval_mm_h or (rate_mm_h, rate_mm_h)
        return min(low / rate_mm_h - 1.0, 0.0), max(high / rate_mm_h - 1.0, 0.0)

    @property
    def surface(self) -> Surface:
        """What water meets."""
        return Surface(
            rate_mm_h=self.facts.rate_mm_h,
            intake_mm_h=intake_of(self.facts),
            accumulation_mm=accumulation_of(self.facts),
        )


@dataclass(frozen=True)
class ReplayCase:
    """A zone and how it is watered; refused where that is more than a day or the ground bears."""

    zone: ReplayZone
    schedule: Schedule

    def __post_init__(self) -> None:
        if not isinstance(self.schedule, SetSchedule):
            return
        minutes = self.schedule.day_minutes(self.zone.zone_id)
        longest_min = minutes.max(initial=0.0)
        depth_mm = minutes.sum(axis=0).max() / _MIN_PER_H * self.zone.facts.rate_mm_h
        if longest_min > _MIN_PER_DAY or depth_mm > MOST_MM_DAY:
            raise InvalidInputError(
                f"The zone would run {longest_min:g} minutes a day and get {depth_mm:.0f} mm.",
                field="run_min", code="over-a-day",
                remedy="Lower minutes, starts or the percentage: a day has 1440 minutes, and"
                f" {MOST_MM_DAY:g} mm a day is the most that is replayed.",
            )  # fmt: skip


def set_waterings(zone: ReplayZone, schedule: SetSchedule, days: ReplayDays) -> DatedWaterings:
    """Return what a set schedule puts on a zone on each day, and what of it runs off, gross [mm].

    Nothing runs while plants rest, for where nights freeze the pipes are emptied before; nor on
    days that a rain sensor holds back.

    Parameters
    ----------
    zone, schedule, days : see there.
    """
    held = waterings_by_month(
        schedule.programs,
        zone.zone_id,
        days.dates,
        monthly_percent=schedule.percents.tolist(),
        surface=zone.surface,
    )
    may_run = ~days.is_resting
    if schedule.rain_skip is not None:
        may_run &= schedule.rain_skip.may_run(days.rain_mm)
    return DatedWaterings(*(values * may_run for values in vars(held).values()))
