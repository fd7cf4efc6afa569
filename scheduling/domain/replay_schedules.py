"""How a zone is watered through past years: by a program that is set, or as the weather asks."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from audits.domain.found_program import SEASONAL_PERCENT, FoundProgram
from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within
from scheduling.domain.margin import run_time_margin
from scheduling.domain.program_waterings import DatedWaterings, Surface, dated_waterings
from scheduling.domain.refill import RefillRule
from scheduling.domain.water_columns import Array
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts, accumulation_of, intake_of

MONTHS: Final = 12
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

    anchor : a day on which every program by interval runs.
    monthly_percent : the seasonal percentage, January to December [%], 0 to 300.
    minutes_factor : by how much all minutes are changed, 0 to 10.
    rain_skip : the sensor, where there is one.
    """

    programs: tuple[FoundProgram, ...]
    anchor: date
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

    def most_minutes(self, program: FoundProgram, zone_id: Hashable) -> float:
        """Return how long a program runs a zone on a day of its highest percentage [min]."""
        percent = max(self.monthly_percent) * self.minutes_factor
        return program.minutes_of(zone_id) * len(program.start_times) * percent / WHOLE_PERCENT


@dataclass(frozen=True, kw_only=True)
class IdealSchedule:
    """Each morning the account says whether the zone is due, and how deep (`refill`)."""

    rule: RefillRule = field(default_factory=RefillRule)


Schedule = SetSchedule | IdealSchedule


@dataclass(frozen=True, kw_only=True)
class ReplayZone:
    """A zone as it is replayed.

    `efficiency` is a measured one, 0.05 to 1, that stands in for 1 / run-time multiplier;
    `expected_du_lq` is the uniformity to expect once its faults are mended, where that is known.
    """

    zone_id: Hashable
    facts: ZoneFacts
    limits: WateringLimits = field(default_factory=WateringLimits)
    efficiency: float | None = None
    expected_du_lq: float | None = None

    @property
    def net_fraction(self) -> float:
        """Net over gross depth."""
        if self.efficiency is not None:
            return number_within(self.efficiency, 0.05, 1.0, field="efficiency")
        return 1.0 / run_time_margin(self.facts, self.limits).multiplier

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
        minutes = [
            self.schedule.most_minutes(program, self.zone.zone_id)
            for program in self.schedule.programs
        ]
        depth_mm = sum(minutes) / _MIN_PER_H * self.zone.facts.rate_mm_h
        if max(minutes, default=0.0) > _MIN_PER_DAY or depth_mm > MOST_MM_DAY:
            raise InvalidInputError(
                f"The zone would run {max(minutes):g} minutes a day and get {depth_mm:.0f} mm.",
                field="run_min", code="over-a-day",
                remedy="Lower minutes, starts or the percentage: a day has 1440 minutes, and"
                f" {MOST_MM_DAY:g} mm a day is the most that is replayed.",
            )  # fmt: skip


def set_waterings(zone: ReplayZone, schedule: SetSchedule, days: ReplayDays) -> DatedWaterings:
    """Return what a set schedule puts on a zone on each day, and what of it runs off, gross [mm].

    The starts of a program are its cycles (`program_waterings.dated_waterings`). Programs by
    interval run on the anchor and every so many days before and after it. Nothing runs while
    plants rest: where nights freeze the pipes are emptied before.

    Parameters
    ----------
    zone, schedule, days : see there.
    """
    total: Array = np.zeros((3, days.dates.size))
    percents = np.array(schedule.monthly_percent) * schedule.minutes_factor
    for percent in np.unique(percents):
        is_month = (percents == percent)[days.month]
        for program in schedule.programs:
            total += is_month * _of_program(zone, program, schedule, days, float(percent))
    if schedule.rain_skip is not None:
        total *= schedule.rain_skip.may_run(days.rain_mm)
    return DatedWaterings(*(total * ~days.is_resting))


def _of_program(
    zone: ReplayZone,
    program: FoundProgram,
    schedule: SetSchedule,
    days: ReplayDays,
    percent: float,
) -> Array:
    """Scale the minutes beforehand, for the percentage of a controller ends at 300."""
    run_min = program.minutes_of(zone.zone_id) * percent / WHOLE_PERCENT
    scaled = FoundProgram(
        start_times=program.start_times,
        zone_minutes=((zone.zone_id, run_min),),
        weekdays=program.weekdays,
        interval_days=program.interval_days,
    )
    held = dated_waterings(
        [scaled],
        zone.zone_id,
        days.dates,
        seasonal_percent=WHOLE_PERCENT,
        since=_since(schedule.anchor, program.interval_days, days),
        surface=zone.surface,
    )
    return np.array([held.gross_mm, held.runoff_mm, held.soak_runoff_mm])


def _since(anchor: date, interval_days: int | None, days: ReplayDays) -> date:
    """Return a day not after the first one, by whole intervals before the anchor."""
    first = date.fromisoformat(str(days.dates[0]))
    step = interval_days or 1
    steps = max(0, -(-(anchor - first).days // step))
    return anchor - timedelta(days=steps * step)
