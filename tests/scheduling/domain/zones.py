"""Zones, climates and rules with fixed, hand-sized defaults."""

from __future__ import annotations

import datetime as dt
from typing import Any

from properties.domain.site import HeadKind, PlantType, SoilTexture
from scheduling.domain.climate import Climate
from scheduling.domain.run_times import ZonePlan, zone_plan
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts

FREE = WateringLimits()
SAND = {"soil_texture": SoilTexture.SAND}  # takes 15.24 mm/h: no cycles below that


def make_zone(**changes: Any) -> ZoneFacts:
    """Flat loam, 15 mm readily available, 12.7 mm/h, perfectly even, need equal to ET0."""
    facts: dict[str, Any] = {
        "rate_mm_h": 12.7,
        "head_kind": HeadKind.SPRAY,
        "assumed_du_lq": 0.41,
        "plant_type": PlantType.WARM_TURF,
        "soil_texture": SoilTexture.LOAM,
        "latitude_deg": 30.0,
        "site_factor": 1.0,
        "du_lq": 1.0,
        "cups": 16,
        "plant_factors": (1.0,) * 12,
        "available_mm_m": 150.0,
        "root_depths_mm": (200.0,) * 12,
        "allowed_depletion": 0.5,
    }
    return ZoneFacts(**{**facts, **changes})


def make_climate(*et0_mm_day: float) -> Climate:
    """One value for all months, or twelve."""
    months = et0_mm_day if len(et0_mm_day) == 12 else et0_mm_day * 12
    return Climate(
        et0_mm_day=months,
        rain_mm=(80.0,) * 12,
        effective_rain_mm=(50.0,) * 12,
        tmin_c=(15.0,) * 12,
        tmax_c=(27.0,) * 12,
        years_used=20,
        days_used=7305,
        days_skipped=0,
        first_date=dt.date(2001, 1, 1),
        last_date=dt.date(2020, 12, 31),
    )


def plan_of(need_mm_day: float, rules: WateringLimits = FREE, **changes: Any) -> ZonePlan:
    """The July plan of a zone on sand with that need."""
    zone = make_zone(**{**SAND, **changes})
    return zone_plan(zone, make_climate(need_mm_day), rules, 7)


def codes(plan: ZonePlan) -> list[str]:
    """The codes of the plan's reasons, in order."""
    return [reason.code for reason in plan.reasons]
