"""What a property's weather was, what is forecast, and what of it changes what a client does."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from audits.models import ProgramSetting
from properties.domain.errors import DomainError
from properties.models import Property, Zone
from scheduling.domain.climate import Climate
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.lived_days import lived_days
from scheduling.domain.soaking_rain import MOST_NEED_MM_DAY, Held, soaking_rain
from scheduling.domain.water_columns import Array
from scheduling.domain.weather_facts import dry_spell, frosts_ahead, heat_run, hot_threshold_c
from scheduling.domain.weather_words import Fact, SoakingRain
from scheduling.domain.zone_facts import ZoneFacts
from scheduling.models import ForecastDay, WeatherDay
from scheduling.selectors.property_weather import PropertyWeather, weather_of_property
from scheduling.selectors.seasons import ZoneSeasonFacts, property_season
from scheduling.selectors.water_accounts import (
    net_fraction_of,
    settings_by_controller,
    waterings_of_settings,
    whole_days_of,
)
from scheduling.selectors.weather import NearStation, stations_near

SHOWN_DAYS: Final = 60
FARTHEST_FORECAST_DAYS: Final = 16  # common practice: what lies beyond is the usual year again
HOT_YEARS_DAYS: Final = 10 * 366

_FORECAST: Final = ("tmin_c", "tmax_c", "rain_mm", "et0_mm")


class StartsFrom(StrEnum):
    """What the roots are taken to hold at first."""

    ACCOUNT = "account"
    USED_UP = "used-up"


@dataclass(frozen=True)
class ZoneSoaking:
    """A zone and the rain that refills it, None when there is none; and what that starts from.

    With a setting for all the days it stands on the zone's account from `account_since` on, with
    the waterings of the setting and full before; else the readily available water is taken as used
    up then, and drought below that is not counted. `assumed_waterings` are the days on which a
    setting is taken to have run.
    """

    zone: Zone
    fact: SoakingRain | None
    starts_from: StartsFrom
    account_since: dt.date
    setting_since: dt.date | None
    assumed_waterings: int


@dataclass(frozen=True)
class WeatherOutlook:
    """The last days, the days to come, and the facts; `hot_c` is from when a day counts as hot."""

    weather: PropertyWeather
    forecast: tuple[ForecastDay, ...]
    hot_c: float | None
    facts: tuple[Fact, ...]
    soakings: tuple[ZoneSoaking, ...]


def local_date(property_: Property, now: dt.datetime) -> dt.date:
    """Return which day it is at the property."""
    return now.astimezone(zoneinfo.ZoneInfo(property_.time_zone)).date()


def recent_weather_of(
    property_: Property, today: dt.date, *, near: Sequence[NearStation] = ()
) -> PropertyWeather:
    """Return the 60 days up to yesterday."""
    first, last = today - dt.timedelta(days=SHOWN_DAYS), today - dt.timedelta(days=1)
    return weather_of_property(property_, first, last, near=near)


def weather_outlook(property_: Property, today: dt.date) -> WeatherOutlook:
    """Return the 60 days up to yesterday, the forecast from today on, and the facts.

    A soaking rain is told for each zone that has a plan, by the account of its plants as they live
    now, with the waterings of its settings; without a usual year no zone has one.
    """
    near = stations_near(property_)
    weather = recent_weather_of(property_, today, near=near)
    forecast = _forecast_of(near[0], today)
    days = _in_a_row(weather, forecast, today)
    hot_c = _hot_c(near[0])
    told = (
        *frosts_ahead(days),
        None if hot_c is None else heat_run(days, threshold_c=hot_c),
        dry_spell(days),
    )
    facts = tuple(fact for fact in told if fact is not None)
    return WeatherOutlook(
        weather, forecast, hot_c, facts, _soakings(property_, weather, days, today)
    )


def _forecast_of(main: NearStation, today: dt.date) -> tuple[ForecastDay, ...]:
    last = today + dt.timedelta(days=FARTHEST_FORECAST_DAYS - 1)
    return tuple(main.station.forecast_days.filter(date__range=(today, last)).order_by("date"))


def _in_a_row(
    weather: PropertyWeather, forecast: Sequence[ForecastDay], today: dt.date
) -> DailyWeather:
    count = (forecast[-1].date - today).days + 1 if forecast else 0
    ahead = {name: np.full(count, np.nan) for name in _FORECAST}
    for day in forecast:
        for name in _FORECAST:
            value = getattr(day, name)
            ahead[name][(day.date - today).days] = np.nan if value is None else value
    seen = weather.dates.size
    columns = {
        name: np.concatenate([weather.series[name].values, ahead[name]]) for name in _FORECAST
    }
    return DailyWeather(
        dates=weather.dates[0] + np.arange(seen + count),
        is_forecast=np.arange(seen + count) >= seen,
        **columns,
    )


def _hot_c(main: NearStation) -> float | None:
    if main.last_date is None:
        return None
    since = main.last_date - dt.timedelta(days=HOT_YEARS_DAYS)
    rows = WeatherDay.objects.filter(station=main.station, date__gt=since, tmax_c__isnull=False)
    maxima: NDArray[Any] = np.array(rows.values_list("tmax_c", flat=True), dtype=np.float64)
    return hot_threshold_c(maxima)


def _soakings(
    property_: Property, weather: PropertyWeather, days: DailyWeather, today: dt.date
) -> tuple[ZoneSoaking, ...]:
    try:
        season = property_season(property_, today)
    except DomainError:
        return ()
    whole = replace(days, et0_mm=_whole_et0_mm(weather, days, season.climate))
    settings = settings_by_controller([each.zone for each in season.zones])
    return tuple(
        _soaking(each, whole, settings.get(each.zone.controller_id, []), today)
        for each in season.zones
    )


def _whole_et0_mm(weather: PropertyWeather, days: DailyWeather, climate: Climate) -> Array:
    """Return the ET0 of each day as the water account has it, ahead the usual of the month [mm]."""
    et0_mm = days.et0_mm.copy()
    et0_mm[: weather.dates.size] = whole_days_of(weather).et0_mm
    months = days.dates.astype("datetime64[M]").astype(np.int64) % 12
    return np.where(np.isnan(et0_mm), np.array(climate.et0_mm_day)[months], et0_mm)


def _soaking(
    each: ZoneSeasonFacts,
    days: DailyWeather,
    settings: Sequence[ProgramSetting],
    today: dt.date,
) -> ZoneSoaking:
    since = settings[0].since if settings else None
    is_known = since is not None and since <= days.day(0)
    starts_from = StartsFrom.ACCOUNT if is_known else StartsFrom.USED_UP
    unsaid = ZoneSoaking(each.zone, None, starts_from, days.day(0), since, 0)
    if each.plan is None or each.facts is None:
        return unsaid
    month = each.plan.months[today.month - 1]
    if month.days_between is None or month.need_mm_day <= 0 or month.raw_mm <= 0:
        return unsaid
    watered_mm = _watered_mm(each.zone, each.facts, settings, days)
    lived = lived_days(each.facts, days.dates, days.et0_mm)
    reserve_mm = float(lived.reserve_mm[days.last_observed])
    fact = soaking_rain(
        days,
        store_mm=float(lived.raw_mm[days.last_observed]),
        need_mm=np.minimum(lived.need_mm, MOST_NEED_MM_DAY),
        need_mm_day=month.need_mm_day,
        held=Held(watered_mm=watered_mm, reserve_mm=reserve_mm)
        if is_known
        else Held(watered_mm=watered_mm, start_mm=0.0),
    )
    return replace(unsaid, fact=fact, assumed_waterings=int((watered_mm > 0).sum()))


def _watered_mm(
    zone: Zone, facts: ZoneFacts, settings: Sequence[ProgramSetting], days: DailyWeather
) -> Array:
    """Return what the settings brought to the roots up to yesterday, net; ahead nothing [mm]."""
    put_down = waterings_of_settings(zone, facts, settings, days.dates)
    soaked_in_mm = put_down.gross_mm - put_down.runoff_mm - put_down.soak_runoff_mm
    net_mm = np.maximum(soaked_in_mm, 0.0) * net_fraction_of(zone, facts)
    return np.where(days.is_forecast, 0.0, net_mm)
