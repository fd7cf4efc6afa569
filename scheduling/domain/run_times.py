"""The watering plan of one zone: how often, how long, in how many cycles, and why.

Weather decides how often, the device how long, the soil how much at once, and the measured
uniformity how honest all of that is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from scheduling.domain.bounds import number_within
from scheduling.domain.climate import MONTH_DAYS, Climate
from scheduling.domain.intervals import WEEK
from scheduling.domain.margin import run_time_margin
from scheduling.domain.needs import daily_need_mm
from scheduling.domain.rain import LARGEST_EFFECTIVE_MM, rain_for_effective_mm, rain_skip_days
from scheduling.domain.reasons import Reason, fact
from scheduling.domain.watering import Demand, plan_watering, watering_reasons
from scheduling.domain.zone_facts import (
    WateringLimits,
    ZoneFacts,
    plant_factor_of,
    readily_available_of,
)

__all__ = [
    "RainSkip", "Reason", "SeasonPlan", "WateringLimits", "ZoneFacts", "ZonePlan",
    "season", "zone_plan",
]  # fmt: skip

# Common practice: where the month's usual night freezes, sprinklers are shut down and drained.
WINTER_TMIN_C: Final = 0.0
NEXT_TO_NOTHING_MM_DAY: Final = 0.1  # common practice: a month that needs less is dormant


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


@dataclass(frozen=True)
class SeasonPlan:
    """Twelve months of a zone, January first, and what the year comes to before any rain."""

    months: tuple[ZonePlan, ...]
    need_mm: float
    net_mm: float
    gross_mm: float
    shortfall_mm: float
    litres: float | None


def zone_plan(zone: ZoneFacts, climate: Climate, rules: WateringLimits, month: int) -> ZonePlan:
    """Return the plan of a zone for one month of a usual year.

    1. Need = reference evapotranspiration x plant x quality x site factor; rain is not subtracted.
    2. Readily available water of the roots of that month.
    3. What one watering day can give: roots, soil, rules, starts.
    4. Days between = that over the need, rounded down to what zone, controller and rules allow.
    5. Net depth = need over the real gaps; minutes from the rate, lengthened for unevenness.
    6. Cycles on the controller's step, with a soak between.

    Parameters
    ----------
    zone, climate, rules : see there.
    month : 1 to 12.

    Raises
    ------
    RefusedError
        Where one step of the controller is already too long ("cycle-under-step",
        "step-over-limit").
    """
    number_within(month, 1, 12, field="month")
    plan = _unwatered(zone, climate, rules, month)
    if climate.tmin_c[month - 1] <= WINTER_TMIN_C:
        return replace(plan, reasons=(fact("winter"), *plan.reasons))
    if plan.need_mm_day < NEXT_TO_NOTHING_MM_DAY:
        return replace(plan, reasons=(fact("no-need"), *plan.reasons))
    if rules.allowed_weekdays is not None and not rules.allowed_weekdays:
        reasons = (fact("no-day-allowed"), *plan.reasons)
        return replace(plan, reasons=reasons, shortfall_mm_day=plan.need_mm_day)
    return _watered(plan, zone, rules)


def season(zone: ZoneFacts, climate: Climate, rules: WateringLimits) -> SeasonPlan:
    """Return the plans of the twelve months and their sums over a mean year [mm, L]."""
    plans = tuple(zone_plan(zone, climate, rules, month) for month in range(1, 13))
    lengths = tuple(zip(plans, MONTH_DAYS, strict=True))
    gross_mm = sum(plan.weekly_gross_mm / WEEK * days for plan, days in lengths)
    return SeasonPlan(
        months=plans,
        need_mm=sum(plan.need_mm_day * days for plan, days in lengths),
        net_mm=sum(plan.weekly_net_mm / WEEK * days for plan, days in lengths),
        gross_mm=gross_mm,
        shortfall_mm=sum(plan.shortfall_mm_day * days for plan, days in lengths),
        litres=None if zone.area_m2 is None else gross_mm * zone.area_m2,
    )


def _unwatered(zone: ZoneFacts, climate: Climate, rules: WateringLimits, month: int) -> ZonePlan:
    et0 = climate.et0_mm_day[month - 1]
    margin = run_time_margin(zone, rules)
    return ZonePlan(
        month=month,
        et0_mm_day=et0,
        need_mm_day=daily_need_mm(
            et0,
            plant_factor_of(zone, month),
            quality_factor=zone.quality_factor,
            site_factor=zone.site_factor,
        ),
        raw_mm=readily_available_of(zone, month),
        multiplier=margin.multiplier,
        multiplier_assumed=margin.assumed,
        estimated=zone.estimated,
        repair_first=margin.repair_first,
        reasons=margin.reasons + ((fact("estimated-rate"),) if zone.estimated else ()),
        litres_per_week=None if zone.area_m2 is None else 0.0,
    )


def _watered(plan: ZonePlan, zone: ZoneFacts, rules: WateringLimits) -> ZonePlan:
    demand = Demand(plan.need_mm_day, plan.raw_mm, plan.multiplier)
    watering = plan_watering(zone, rules, demand)
    rhythm, cycles = watering.rhythm, watering.cycles
    weekly_gross_mm = watering.gross_mm * watering.per_week
    return replace(
        plan,
        net_mm=watering.net_mm,
        days_between=rhythm.longest_gap_days,
        gaps_days=rhythm.gaps_days,
        weekdays=rhythm.weekdays,
        waterings_per_day=watering.times,
        minutes_low=watering.minutes_low,
        minutes_high=watering.minutes_high,
        minutes=cycles.minutes,
        cycles=cycles.cycles,
        cycle_min=cycles.cycle_min,
        soak_min=cycles.soak_min,
        gross_mm=watering.gross_mm,
        weekly_net_mm=weekly_gross_mm / plan.multiplier,
        weekly_gross_mm=weekly_gross_mm,
        litres_per_week=None if zone.area_m2 is None else weekly_gross_mm * zone.area_m2,
        rain_skip=_rain_skip(demand),
        shortfall_mm_day=watering.limit_shortfall_mm_day + watering.step_shortfall_mm_day,
        reasons=watering_reasons(watering, zone) + plan.reasons,
    )


def _rain_skip(demand: Demand) -> RainSkip | None:
    """The rain that fills the roots from empty; None where that lasts less than a day."""
    rain_mm = rain_for_effective_mm(demand.raw_mm)
    filled_mm = min(demand.raw_mm, LARGEST_EFFECTIVE_MM)
    days = rain_skip_days(filled_mm, demand.need_mm_day, store_mm=demand.raw_mm)
    return RainSkip(rain_mm, days) if days else None
