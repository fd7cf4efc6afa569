"""The running plans of a property: its weather, its settings and its treatments read once for all.

Waterings are assumed from the controllers' settings, for nobody saw them run.
"""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

import numpy as np

from audits.models import CatchTest, ProgramSetting, Treatment, TreatmentKind
from audits.selectors.program_settings import with_programs
from audits.selectors.treatments import asked_of_water
from audits.selectors.zones import ruling_tests
from properties.domain.errors import DomainError
from properties.models import Property, Zone
from properties.selectors.company import the_company
from scheduling.domain.climate import Climate
from scheduling.domain.daily_climate import DailyClimate
from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.reasons import Reason
from scheduling.domain.refill import RefillRule, rule_for
from scheduling.domain.run_times import WINTER_TMIN_C
from scheduling.domain.running_days import AheadDays, PastDays
from scheduling.domain.running_plan import RunningPlan, running_plan
from scheduling.domain.running_words import water_in_reason
from scheduling.domain.treatment_days import Asked, TreatmentDays
from scheduling.domain.usual_weather import usual_et0_mm
from scheduling.domain.zone_facts import ZoneFacts
from scheduling.models import WeatherStation
from scheduling.selectors.forecasts import StationForecast, forecast_of
from scheduling.selectors.measured_zones import mended_on
from scheduling.selectors.property_weather import PropertyWeather, weather_of_property
from scheduling.selectors.water_accounts import waterings_of_settings, whole_days_of
from scheduling.selectors.weather import stations_near, usual_year_of
from scheduling.selectors.weather_outlook import local_date
from scheduling.selectors.zone_facts import zone_facts
from scheduling.selectors.zone_limits import PropertyLimits, WaterInLimits

PAST_DAYS: Final = 60  # common practice: two months forget what the roots held before them
AHEAD_DAYS: Final = 14
_SHORTEST: Final = dt.timedelta(microseconds=1)


@dataclass(frozen=True)
class WaterIn:
    """A treatment that is to be watered in, and what the rules of the district say to that."""

    treatment: Treatment
    limits: WaterInLimits

    @property
    def reason(self) -> Reason:
        return water_in_reason(self.limits.code)


@dataclass(frozen=True)
class ZoneRunningPlan:
    """One zone: its plan, or the refusal that says why there is none.

    `setting_since` is the day from which a setting of its controller is known, None for never.
    """

    zone: Zone
    facts: ZoneFacts | None = None
    plan: RunningPlan | None = None
    refusal: DomainError | None = None
    setting_since: dt.date | None = None
    water_ins: tuple[WaterIn, ...] = ()


@dataclass(frozen=True)
class PropertyRunningPlan:
    """The zones of a property over the coming days, and the weather that they stand on."""

    property_: Property
    station: WeatherStation
    weather: PropertyWeather
    forecast: StationForecast
    zones: tuple[ZoneRunningPlan, ...]


@dataclass(frozen=True)
class _Scene:
    """What all zones of a property share."""

    property_: Property
    latitude_deg: float
    past: dict[str, Any]
    ahead: AheadDays
    tests: dict[UUID, CatchTest]
    mended: dict[UUID, dt.date]
    settings: dict[UUID, list[ProgramSetting]]
    treatments: Sequence[Treatment]
    limits: PropertyLimits
    rule: RefillRule
    today: dt.date
    now: dt.datetime


def property_running_plan(property_: Property, now: dt.datetime) -> PropertyRunningPlan:
    """Return the plans of all active zones from today on, whatever their number in as many queries.

    1. Observed weather up to yesterday, gaps filled from neighbours; where nobody has a day, the
       usual need stands in, and no rain.
    2. The forecast of the station from today on, and beyond it the usual days.
    3. What the settings of the controllers are taken to have put down, and the live treatments.
    """
    zones = (
        property_.zones.filter(is_active=True)
        .select_related("controller", "property")
        .prefetch_related("head_groups", "bucket_tests", "emitter_checks")
        .order_by("number", "id")
    )
    return _plans(property_, list(zones), now)


def zone_running_plan(zone: Zone, now: dt.datetime) -> PropertyRunningPlan:
    """Return the same of one zone, or refuse with the reason why it has none."""
    found = _plans(zone.property, [zone], now)
    (only,) = found.zones
    if only.refusal is not None:
        raise only.refusal
    return found


def _plans(property_: Property, zones: Sequence[Zone], now: dt.datetime) -> PropertyRunningPlan:
    today = local_date(property_, now)
    near = stations_near(property_)
    station = near[0].station
    first, last = today - dt.timedelta(days=PAST_DAYS), today - dt.timedelta(days=1)
    weather = weather_of_property(property_, first, last, near=near)
    climate, usual = usual_year_of(station)
    forecast = forecast_of(station, now=now)
    tests = ruling_tests([zone.pk for zone in zones])
    scene = _Scene(
        property_=property_,
        latitude_deg=station.latitude,
        past=_past(weather, usual, climate),
        ahead=_ahead(forecast, today, usual, climate),
        tests=tests,
        mended=mended_on(zones, tests),
        settings=_settings_of(zones),
        treatments=_treatments_of(property_, today),
        limits=PropertyLimits(property_),
        rule=rule_for(leaves_room=the_company().leaves_room_for_rain),
        today=today,
        now=now,
    )
    plans = tuple(_plan(zone, scene) for zone in zones)
    return PropertyRunningPlan(property_, station, weather, forecast, plans)


def _past(weather: PropertyWeather, usual: DailyClimate, climate: Climate) -> dict[str, Any]:
    days = whole_days_of(weather, lambda gaps: usual_et0_mm(gaps, usual, lambda: climate))
    return {
        "dates": days.dates,
        "et0_mm": days.et0_mm,
        "rain_mm": days.rain_mm,
        "is_usual": days.is_usual,
    }


def _ahead(
    forecast: StationForecast, today: dt.date, usual: DailyClimate, climate: Climate
) -> AheadDays:
    dates = np.datetime64(today, "D") + np.arange(AHEAD_DAYS)
    names = ("et0_mm", "rain_mm", "rain_probability_percent", "tmin_c")
    told = {name: np.full(AHEAD_DAYS, np.nan) for name in names}
    for day in forecast.days:
        place = (day.date - today).days
        if 0 <= place < AHEAD_DAYS:
            for name in names:
                value = getattr(day, name)
                told[name][place] = np.nan if value is None else value
    is_forecast = ~np.isnan(told["et0_mm"])
    months = dates.astype("datetime64[M]").astype(np.int64) % 12
    told["et0_mm"] = np.where(
        is_forecast, told["et0_mm"], usual_et0_mm(dates, usual, lambda: climate)
    )
    is_shut = np.array(climate.tmin_c)[months] <= WINTER_TMIN_C
    return AheadDays(dates=dates, is_forecast=is_forecast, is_shut=is_shut, **told)


def _settings_of(zones: Sequence[Zone]) -> dict[UUID, list[ProgramSetting]]:
    """Return for each controller all its settings, the oldest first."""
    controllers = {zone.controller_id for zone in zones if zone.controller_id}
    settings = with_programs(ProgramSetting.objects.filter(controller__in=controllers))
    found: dict[UUID, list[ProgramSetting]] = defaultdict(list)
    for setting in settings.order_by("since", "id"):
        found[setting.controller_id].append(setting)
    return found


def _treatments_of(property_: Property, today: dt.date) -> list[Treatment]:
    since = dt.datetime.combine(today, dt.time(), zoneinfo.ZoneInfo(property_.time_zone))
    rows = Treatment.objects.filter(property=property_, is_called_off=False, until__gt=since)
    return list(rows.order_by("applied_at", "id"))


def _plan(zone: Zone, scene: _Scene) -> ZoneRunningPlan:
    settings = scene.settings.get(zone.controller_id, []) if zone.controller_id else []
    since = settings[0].since if settings else None
    asked = [row for row in scene.treatments if row.zone_id in (None, zone.pk)]
    water_ins = {
        row.pk: WaterIn(row, scene.limits.water_in(zone, row.applied_at, scene.now))
        for row in asked
        if row.kind == TreatmentKind.WATER_IN
    }
    try:
        facts = zone_facts(
            zone,
            scene.tests.get(zone.pk),
            latitude_deg=scene.latitude_deg,
            mended_on=scene.mended.get(zone.pk),
        )
        waterings = waterings_of_settings(zone, facts, settings, scene.past["dates"])
        plan = running_plan(
            facts,
            scene.limits.on_dates(zone, scene.today, AHEAD_DAYS),
            PastDays(waterings=waterings, **scene.past),
            scene.ahead,
            treatments=[_by_days(row, scene, waterings, water_ins.get(row.pk)) for row in asked],
            rule=scene.rule,
        )
    except DomainError as refusal:
        return ZoneRunningPlan(zone, refusal=refusal, setting_since=since)
    return ZoneRunningPlan(zone, facts, plan, None, since, tuple(water_ins.values()))


def _by_days(
    row: Treatment, scene: _Scene, waterings: DatedWaterings, water_in: WaterIn | None
) -> TreatmentDays:
    """Return a treatment by the days of the property."""
    clock = zoneinfo.ZoneInfo(scene.property_.time_zone)
    first = row.applied_at.astimezone(clock).date()
    # What ran on the day itself may have run before it.
    after = scene.past["dates"] > np.datetime64(first, "D")
    return TreatmentDays(
        asked=Asked.WATER_IN if water_in else Asked.HOLD,
        first=first,
        last=(row.until - _SHORTEST).astimezone(clock).date(),
        label=asked_of_water(row).binding_text,
        at_most_mm=row.at_most_mm if water_in else None,
        put_down_mm=float(waterings.gross_mm[after].sum()) if water_in else 0.0,
        relieved=(water_in.limits.relieved or {}) if water_in else {},
    )
