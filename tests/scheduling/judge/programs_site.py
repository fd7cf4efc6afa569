"""A site with its five years, its usual year, its plans, and the task of its one controller.

The plans are made from the usual year of the years before; the trial is the five years after them.
Rules come through the product's district rules.
"""

from __future__ import annotations

import datetime as dt
import zoneinfo
from dataclasses import dataclass
from functools import cache

import numpy as np

from properties.domain.site import HeadKind, PlantType, SoilTexture
from properties.domain.watering_rules import DistrictRules, WateringRule
from properties.domain.watering_rules_audience import Method, Place, ZoneUse
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_hours import HourRange
from properties.domain.watering_rules_spans import AllowedSpan, allowed_span
from scheduling.domain.climate import Climate, monthly_climate
from scheduling.domain.programs import (
    ControllerAbility,
    ControllerTask,
    HourWindow,
    ProgramRules,
    ZoneKind,
    ZoneNeed,
)
from scheduling.domain.run_times import WINTER_TMIN_C, season
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts
from scheduling.domain.zone_plans import SeasonPlan
from tests.scheduling.judge.open_weather import Series, read_series
from tests.scheduling.judge.reference_zones import ZONES, ReferenceZone
from tests.scheduling.judge.trial import (
    FIRST_CALIBRATION_YEAR,
    INCH_MM,
    TRIAL_YEARS,
    usual_et0,
)

YEARS = 5
MIN_PER_DAY = 24 * 60
FOOT_M2 = 0.3048**2
ABILITY = ControllerAbility(programs=4, starts_per_program=4, longest_run_min=240)
# The protocol's efficiencies are far below what a company would still water at: no cap here.
LIMITS = WateringLimits(max_multiplier=2.5)

_NO_NOON = (HourRange(0, 10 * 60), HourRange(18 * 60, MIN_PER_DAY))
RULES = {
    "no rule": DistrictRules("Free"),
    "two days a week": DistrictRules(
        "Two", (WateringRule(name="Wed, Sat", weekdays=frozenset({2, 5}), hours=_NO_NOON),)
    ),
    "one day a week": DistrictRules(
        "One", (WateringRule(name="Wed", weekdays=frozenset({2}), hours=_NO_NOON),)
    ),
}
_CASE = Case(
    place=Place(house_number=48, time_zone=zoneinfo.ZoneInfo("UTC")),
    use=ZoneUse(method=Method.SPRAY),
)


@dataclass(frozen=True)
class Trial:
    """A site: its days, the usual year, and the plan of each zone."""

    site: str
    days: Series
    climate: Climate
    plans: tuple[SeasonPlan, ...]

    @property
    def is_season(self) -> np.ndarray:
        """Whether the usual night of the day's month is above freezing."""
        warm = np.array(self.climate.tmin_c) > WINTER_TMIN_C
        return warm[[date.month - 1 for date in self.days.dates]]

    @property
    def years(self) -> int:
        return self.days.dates[-1].year - self.days.dates[0].year + 1

    @property
    def peak(self) -> int:
        """The month of the highest usual ET0, 0 to 11."""
        return int(np.argmax(self.climate.et0_mm_day))

    def span(self, rule: str) -> AllowedSpan:
        """What the rule allows, through the product's district rules."""
        first = self.days.dates[0]
        return allowed_span(RULES[rule], _CASE, first, first + dt.timedelta(days=27))


@cache
def trial_at(site: str, years: int = YEARS) -> Trial:
    """Plan from the usual year of the years before the trial."""
    series = read_series(site)
    first = TRIAL_YEARS[site][0]
    before = series.years(FIRST_CALIBRATION_YEAR[site], first - 1)
    climate = monthly_climate(
        dates=before.dates,
        tmin_c=before.tmin_c,
        tmax_c=before.tmax_c,
        rain_mm=before.rain_mm,
        latitude_deg=series.latitude_deg,
        et0_mm=usual_et0(series),
    )
    plans = tuple(season(facts_of(zone, series), climate, LIMITS) for zone in ZONES)
    return Trial(site, series.years(first, first + years - 1), climate, plans)


def facts_of(zone: ReferenceZone, series: Series) -> ZoneFacts:
    """The zone as the product plans it; its efficiency enters as 1/e by way of the uniformity."""
    storage_mm = zone.storage_in * INCH_MM
    shift = 6 if series.latitude_deg < 0 else 0
    return ZoneFacts(
        rate_mm_h=zone.rate_in_h * INCH_MM,
        head_kind=HeadKind.DRIP if is_drip(zone) else HeadKind.SPRAY,
        assumed_du_lq=0.5,
        plant_type=PlantType.WARM_TURF,
        soil_texture=SoilTexture(zone.texture),
        latitude_deg=series.latitude_deg,
        site_factor=zone.sun,
        du_lq=(zone.efficiency - 0.4) / 0.6,
        cups=24,
        area_m2=zone.area_ft2 * FOOT_M2,
        slope_percent=float(zone.slope_percent),
        plant_factors=tuple(zone.crop[(month + shift) % 12] for month in range(12)),
        quality_factor=1.0,
        root_depths_mm=(storage_mm / 150.0 * 1000.0 / 0.5,) * 12,
        allowed_depletion=0.5,
        available_mm_m=150.0,
    )


def is_drip(zone: ReferenceZone) -> bool:
    return zone.name == "5 trees"


def task_of(trial: Trial, rule: str, month: int) -> ControllerTask:
    """What the product hands to a fit: the months' needs and the strictest of the rules."""
    span = trial.span(rule)
    rules = ProgramRules(
        allowed_weekdays=span.weekdays,
        windows=tuple(HourWindow(each.start_min, each.end_min) for each in span.hours),
        daily_minutes_cap=span.minutes_cap,
        daily_depth_cap_mm=span.depth_cap_mm,
    )
    zones = zip(ZONES, trial.plans, strict=True)
    return ControllerTask(
        ability=ABILITY,
        zones=tuple(_need(zone, plan, month) for zone, plan in zones),
        rules=rules,
        drip_rules=rules,
    )


def _need(zone: ReferenceZone, plan: SeasonPlan, month: int) -> ZoneNeed:
    need = plan.month_needs()[month]
    return ZoneNeed(
        zone_id=zone.name,
        need_mm_week=need.gross_mm_week,
        rate_mm_h=need.rate_mm_h,
        kind=ZoneKind.DRIP if is_drip(zone) else ZoneKind.SPRINKLER,
        longest_cycle_min=need.longest_cycle_min,
        soak_min=need.soak_min,
        day_limit_mm=np.inf if need.day_limit_mm is None else need.day_limit_mm,
        store_mm=need.store_mm,
        longest_gap_days=need.longest_gap_days or None,
        area_m2=zone.area_ft2 * FOOT_M2,
    )
