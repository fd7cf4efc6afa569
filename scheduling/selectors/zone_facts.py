"""A stored zone as its plan sees it: site, test or heads, and the limits that bind it."""

from __future__ import annotations

from datetime import date
from typing import Final

from django.conf import settings

from audits.domain.published_uniformity import assumed_du_lq
from audits.models import CatchTest
from audits.selectors.emitter_checks import (
    dripping_emitters,
    dripping_uniformity,
)
from audits.selectors.head_rates import expected_rate_mm_h
from properties.domain.errors import RefusedError
from properties.domain.site import Exposure, HeadKind, PlantType, SoilTexture, WaterUse
from properties.models import Controller, Zone
from scheduling.domain.landscape_factors import (
    WATER_USE_TABLES,
    Planting,
    TableName,
    planting_factors,
)
from scheduling.domain.plants import site_factor
from scheduling.domain.year_spans import PlantLife, YearSpan
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts
from scheduling.selectors.measured_zones import measuring_check

POINT_KINDS: Final = frozenset({HeadKind.DRIP, HeadKind.BUBBLER})
# Irrigation efficiency of drip in the California model ordinance, 23 CCR 492.4.
POINT_DU_LQ: Final = 0.81


def zone_facts(
    zone: Zone, test: CatchTest | None, *, latitude_deg: float, mended_on: date | None = None
) -> ZoneFacts:
    """Return the facts of a zone; its rate is measured, or else estimated from its heads.

    Emitters that were caught one by one tell rate and uniformity where no test rules. The plan is
    estimated all the same: a stored one stands on a catch test or is estimated. `mended_on` is the
    day of a repair after which nobody has measured.
    """
    head_kind = HeadKind(zone.head_kind)
    du_lq, told_by = _measured_uniformity(zone, test)
    return ZoneFacts(
        rate_mm_h=test.rate_mm_h if test else estimated_rate_mm_h(zone),
        estimated=test is None,
        du_lq=du_lq,
        cups=told_by,
        by_emitters=test is None and du_lq is not None,
        pooled=bool(test and test.is_pooled),
        head_kind=head_kind,
        assumed_du_lq=POINT_DU_LQ if head_kind in POINT_KINDS else assumed_du_lq(head_kind),
        area_m2=zone.area_m2,
        latitude_deg=latitude_deg,
        plant_type=PlantType(zone.plant_type),
        plant_factors=plant_factors_of(zone, latitude_deg),
        quality_factor=zone.quality_factor,
        site_factor=site_factor_of(zone),
        soil_texture=SoilTexture(zone.soil_texture),
        slope_percent=zone.slope_percent,
        root_depths_mm=tuple(zone.root_depths_mm) if zone.root_depths_mm else None,
        allowed_depletion=zone.allowed_depletion,
        available_mm_m=zone.available_mm_m,
        intake_mm_h=zone.intake_mm_h,
        accumulation_mm=zone.accumulation_mm,
        min_days_between=zone.min_days_between,
        max_days_between=zone.max_days_between,
        life=plant_life_of(zone),
        mended_on=mended_on,
    )


def plant_factors_of(zone: Zone, latitude_deg: float) -> tuple[float, ...]:
    """Return the part of ET0 that the plants of a zone need, January to December."""
    planting = Planting(
        plant_type=PlantType(zone.plant_type),
        months=tuple(zone.plant_factors) if zone.plant_factors else None,
        factor=zone.plant_factor,
        water_use=WaterUse(zone.water_use) if zone.water_use else None,
        table=WATER_USE_TABLES[TableName(settings.WATER_USE_TABLE)],
        density_factor=zone.density_factor,
    )
    return planting_factors(planting, latitude_deg)


def plant_life_of(zone: Zone) -> PlantLife:
    """Return what the plants of a zone live through beside the seasons."""
    return PlantLife(
        planting_date=zone.planting_date,
        dormant=_span(zone.dormant_from, zone.dormant_until),
        overseeded=_span(zone.overseeded_from, zone.overseeded_until),
    )


def _span(first: str, last: str) -> YearSpan | None:
    return YearSpan(first, last) if first and last else None


def site_factor_of(zone: Zone) -> float:
    """Return what the place of a zone does to its need."""
    exposure = Exposure(zone.exposure) if zone.exposure else None
    return site_factor(exposure, zone.microclimate_factor)


def _measured_uniformity(zone: Zone, test: CatchTest | None) -> tuple[float | None, int | None]:
    """Return the uniformity by cups or, of drip, by emitters, and how many of them told it.

    Of emitters those count that drip: no minutes reach plants through the others.
    """
    if test is not None:
        return test.du_lq, test.cups
    check = measuring_check(zone)
    return (dripping_uniformity(check), dripping_emitters(check)) if check else (None, None)


def limits_of(controller: Controller | None) -> WateringLimits:
    """Return what a controller allows; a zone without one is watered by hand, minute by minute."""
    if controller is None:
        return WateringLimits()
    return WateringLimits(
        minute_step=controller.minute_step,
        longest_run_min=controller.longest_run_min,
        max_cycles=controller.starts_per_program,
    )


def estimated_rate_mm_h(zone: Zone) -> float:
    """Return the rate that the zone's heads, or the bucket under its hose, let one expect."""
    rate = expected_rate_mm_h(zone)
    if rate is None:
        raise RefusedError(
            f"Zone {zone} has no measured rate, and its heads do not tell one.",
            code="no-rate", field="zone",
            remedy="Record a catch test, or enter the zone's area and its heads with their flow.",
        )  # fmt: skip
    return rate
