"""The watering plan of one zone: how often, how long, in how many cycles, and why.

Weather decides how often, the device how long, the soil how much at once, and the measured
uniformity how honest all of that is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from properties.domain.site import HeadKind
from scheduling.domain.bounds import number_within
from scheduling.domain.climate import MONTH_DAYS, Climate
from scheduling.domain.cycles import soak_after_min
from scheduling.domain.intervals import WEEK
from scheduling.domain.margin import run_time_margin
from scheduling.domain.needs import daily_need_mm
from scheduling.domain.plant_lives import LifeStage, life_reasons, need_on_mm, zone_in_month
from scheduling.domain.rain import LARGEST_EFFECTIVE_MM, rain_for_effective_mm, rain_skip_days
from scheduling.domain.reasons import Reason, fact
from scheduling.domain.watering import (
    Demand,
    Watering,
    day_gross_limit,
    longest_days_between,
    plan_watering,
    watering_reasons,
)
from scheduling.domain.zone_facts import (
    UniformitySource,
    WateringLimits,
    ZoneFacts,
    plant_factor_of,
    readily_available_of,
)
from scheduling.domain.zone_plans import RainSkip, SeasonPlan, ZonePlan

__all__ = [
    "RainSkip", "Reason", "SeasonPlan", "WateringLimits", "ZoneFacts", "ZonePlan",
    "season", "zone_plan",
]  # fmt: skip

# Common practice: where the month's usual night freezes, sprinklers are shut down and drained.
WINTER_TMIN_C: Final = 0.0
_ROUNDING: Final = 1e-9
NEXT_TO_NOTHING_MM_DAY: Final = 0.1  # common practice: a month that needs less is dormant


def zone_plan(
    zone: ZoneFacts,
    climate: Climate,
    rules: WateringLimits,
    month: int,
    *,
    on: date | None = None,
) -> ZonePlan:
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
    on : the day from which is planned. The plants live as in the middle of the coming month of
        that number; without it a new planting counts as established.

    Raises
    ------
    InvalidInputError
        For a month that no year has.
    RefusedError
        Where one step of the controller is already too long ("cycle-under-step",
        "step-over-limit").
    """
    number_within(month, 1, 12, field="month")
    zone, stage = zone_in_month(zone, month, on)
    plan = _unwatered(zone, climate, rules, month, stage=stage)
    if climate.tmin_c[month - 1] <= WINTER_TMIN_C:
        return replace(plan, reasons=(fact("winter"), *plan.reasons))
    if plan.need_mm_day < NEXT_TO_NOTHING_MM_DAY:
        return replace(plan, reasons=(fact("no-need"), *plan.reasons))
    if rules.allowed_weekdays is not None and not rules.allowed_weekdays:
        reasons = (fact("no-day-allowed"), *plan.reasons)
        return replace(plan, reasons=reasons, shortfall_mm_day=plan.need_mm_day)
    return _watered(plan, zone, rules)


def season(
    zone: ZoneFacts,
    climate: Climate,
    rules: WateringLimits | Sequence[WateringLimits],
    *,
    on: date | None = None,
) -> SeasonPlan:
    """Return the plans of the twelve months and their sums over a mean year [mm, L].

    `rules` are those of every month, or twelve, January first.
    With `on`, the months before that of the day are those of the next year: a planting of this
    spring is grown up in the next.
    """
    by_month = (rules,) * 12 if isinstance(rules, WateringLimits) else rules
    plans = tuple(
        zone_plan(zone, climate, limits, month, on=on) for month, limits in enumerate(by_month, 1)
    )
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


def _unwatered(
    zone: ZoneFacts, climate: Climate, rules: WateringLimits, month: int, *, stage: LifeStage
) -> ZonePlan:
    et0 = climate.et0_mm_day[month - 1]
    margin = run_time_margin(zone, rules)
    plant_factor = plant_factor_of(zone, month)
    need_mm = daily_need_mm(
        et0,
        plant_factor,
        quality_factor=zone.quality_factor,
        site_factor=zone.site_factor,
    )
    return ZonePlan(
        month=month,
        stage=stage,
        et0_mm_day=et0,
        need_mm_day=need_on_mm(stage, need_mm),
        plant_factor=plant_factor,
        quality_factor=zone.quality_factor,
        site_factor=zone.site_factor,
        rate_mm_h=zone.rate_mm_h,
        raw_mm=readily_available_of(zone, month),
        multiplier=margin.multiplier,
        multiplier_assumed=margin.assumed,
        estimated=zone.estimated,
        repair_first=margin.repair_first,
        uncapped_multiplier=margin.uncapped,
        mended_on=zone.mended_on,
        reasons=(*margin.reasons, *rate_reasons(zone), fact("need"), *life_reasons(stage)),
        litres_per_week=None if zone.area_m2 is None else 0.0,
    )


def rate_reasons(zone: ZoneFacts) -> tuple[Reason, ...]:
    """Return what told the rate of a zone, and whether a repair has outdone that."""
    mended = () if zone.mended_on is None else (fact("mended-rate"),)
    return (_rate_reason(zone), *mended)


def _rate_reason(zone: ZoneFacts) -> Reason:
    if not zone.estimated:
        return fact("measured-rate")
    if zone.uniformity_source is UniformitySource.EMITTERS:
        return fact("emitter-rate")
    return fact("estimated-hose-rate" if zone.head_kind == HeadKind.HOSE_END else "estimated-rate")


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
        litres_per_week=_litres(weekly_gross_mm, zone),
        rain_skip=_rain_skip(demand),
        gap_nets_mm=rhythm.gap_nets_mm(plan.need_mm_day, watering.capacity),
        limits=watering.limits,
        **_controller_facts(plan, watering, zone, rules),
        **_beyond_the_cap(plan, weekly_gross_mm, zone),
        shortfall_mm_day=watering.limit_shortfall_mm_day + watering.step_shortfall_mm_day,
        reasons=watering_reasons(watering, zone) + plan.reasons,
    )


def _controller_facts(
    plan: ZonePlan, watering: Watering, zone: ZoneFacts, rules: WateringLimits
) -> dict[str, Any]:
    longest_cycle_min = watering.longest_cycle.value
    day_limit_mm = day_gross_limit(zone, rules).value
    lasts_days = math.floor(plan.raw_mm / plan.need_mm_day + _ROUNDING)
    return {
        "longest_cycle_min": longest_cycle_min,
        "longest_cycle_soak_min": soak_after_min(zone, longest_cycle_min, rules.minute_step),
        "day_limit_mm": day_limit_mm if math.isfinite(day_limit_mm) else None,
        "longest_gap_days": max(1, min(lasts_days, longest_days_between(zone, rules))),
    }


def _beyond_the_cap(plan: ZonePlan, weekly_gross_mm: float, zone: ZoneFacts) -> dict[str, Any]:
    more_mm = weekly_gross_mm * (plan.uncapped_multiplier / plan.multiplier - 1.0)
    return {"beyond_cap_mm_week": more_mm, "beyond_cap_litres_week": _litres(more_mm, zone)}


def _litres(depth_mm: float, zone: ZoneFacts) -> float | None:
    return None if zone.area_m2 is None else depth_mm * zone.area_m2


def _rain_skip(demand: Demand) -> RainSkip | None:
    """The rain that fills the roots from empty; None where that lasts less than a day."""
    rain_mm = rain_for_effective_mm(demand.raw_mm)
    filled_mm = min(demand.raw_mm, LARGEST_EFFECTIVE_MM)
    days = rain_skip_days(filled_mm, demand.need_mm_day, store_mm=demand.raw_mm)
    return RainSkip(rain_mm, days) if days else None
