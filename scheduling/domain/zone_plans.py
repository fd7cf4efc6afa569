"""What a plan says: of one zone in one month, and of its twelve months."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from scheduling.domain.intervals import WEEK
from scheduling.domain.month_needs import MonthNeed
from scheduling.domain.plant_lives import LifeStage
from scheduling.domain.reasons import Reason
from scheduling.domain.watering import DayLimit


@dataclass(frozen=True)
class RainSkip:
    """The rule in words for rain: after so much in one rain, skip so many days."""

    rain_mm: float
    days: int


@dataclass(frozen=True, kw_only=True)
class ZonePlan:
    """What to set for a zone in one month.

    `net_mm`, `minutes_low` and `minutes_high` are exact and speak of one watering; `cycles`,
    `cycle_min` and `minutes` are what the controller is set to, and `gross_mm` and the weekly
    depths follow from those. `days_between` is the longest gap of the pattern in `gaps_days`; where
    nothing is watered it is None, the minutes are 0 and the first reason says why.
    `shortfall_mm_day` is what the need exceeds the plan by, for a limit that a reason names.

    Net is what the plants get, gross what is put down for it; `gap_nets_mm` is what they use over
    each of the gaps, which one setting serves. `limits` are all that bind a watering day, and
    `longest_gap_days` how long the roots last within what zone and controller allow. Where the
    multiplier is capped, `beyond_cap_mm_week` and its litres are the water, over that of the plan,
    that making up for the unevenness would cost. `mended_on` is the day of a repair since which
    nobody has measured: a retest is awaited.
    """

    month: int
    et0_mm_day: float
    need_mm_day: float
    raw_mm: float
    multiplier: float
    multiplier_assumed: bool
    estimated: bool
    repair_first: bool
    reasons: tuple[Reason, ...]
    litres_per_week: float | None
    net_mm: float = 0.0
    days_between: int | None = None
    gaps_days: tuple[int, ...] = ()
    weekdays: tuple[int, ...] | None = None
    waterings_per_day: int = 0
    minutes_low: float = 0.0
    minutes_high: float = 0.0
    minutes: float = 0.0
    cycles: int = 0
    cycle_min: float = 0.0
    soak_min: float = 0.0
    gross_mm: float = 0.0
    weekly_net_mm: float = 0.0
    weekly_gross_mm: float = 0.0
    rain_skip: RainSkip | None = None
    shortfall_mm_day: float = 0.0
    rate_mm_h: float = 0.0
    mended_on: date | None = None
    plant_factor: float = 1.0
    quality_factor: float = 1.0
    site_factor: float = 1.0
    stage: LifeStage = LifeStage.ESTABLISHED
    gap_nets_mm: tuple[float, ...] = ()
    limits: tuple[DayLimit, ...] = ()
    longest_cycle_min: float = 0.0
    longest_cycle_soak_min: float = 0.0
    day_limit_mm: float | None = None
    longest_gap_days: int = 0
    uncapped_multiplier: float = 1.0
    beyond_cap_mm_week: float = 0.0
    beyond_cap_litres_week: float | None = None

    @property
    def uneven_loss_mm(self) -> float:
        """What the uneven application of one watering costs: gross less net [mm]."""
        return self.gross_mm * (1.0 - 1.0 / self.multiplier)

    @property
    def weekly_uneven_loss_mm(self) -> float:
        """The same of a mean week [mm]."""
        return self.weekly_gross_mm - self.weekly_net_mm

    @property
    def month_need(self) -> MonthNeed:
        """What this month asks of the controller."""
        is_watered = self.days_between is not None
        return MonthNeed(
            month=self.month,
            gross_mm_week=WEEK * self.need_mm_day * self.multiplier if is_watered else 0.0,
            net_mm=self.net_mm,
            rate_mm_h=self.rate_mm_h,
            longest_cycle_min=self.longest_cycle_min,
            soak_min=self.longest_cycle_soak_min,
            day_limit_mm=self.day_limit_mm,
            store_mm=self.raw_mm * self.multiplier,
            longest_gap_days=self.longest_gap_days,
        )


@dataclass(frozen=True)
class SeasonPlan:
    """Twelve months of a zone, January first, and what the year comes to before any rain."""

    months: tuple[ZonePlan, ...]
    need_mm: float
    net_mm: float
    gross_mm: float
    shortfall_mm: float
    litres: float | None

    def month_needs(self) -> tuple[MonthNeed, ...]:
        """Return what each month asks of the controller, January first."""
        return tuple(month.month_need for month in self.months)
