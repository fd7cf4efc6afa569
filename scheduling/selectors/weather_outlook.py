"""What a property's weather was, what is forecast, and what of it changes what a client does."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import DomainError
from properties.models import Property, Zone
from scheduling.domain.climate import Climate
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.soaking_rain import MOST_NEED_MM_DAY, soaking_rain
from scheduling.domain.weather_facts import dry_spell, frosts_ahead, heat_run, hot_threshold_c
from scheduling.domain.weather_words import Fact, SoakingRain
from scheduling.models import ForecastDay, WeatherDay
from scheduling.selectors.property_weather import PropertyWeather, weather_of_property
from scheduling.selectors.seasons import ZoneSeasonFacts, property_season
from scheduling.selectors.weather import NearStation, stations_near

SHOWN_DAYS: Final = 60
FARTHEST_FORECAST_DAYS: Final = 16  # common practice: what lies beyond is the usual year again
HOT_YEARS_DAYS: Final = 10 * 366

_FORECAST: Final = ("tmin_c", "tmax_c", "rain_mm", "et0_mm")


@dataclass(frozen=True)
class ZoneSoaking:
    """A zone and the rain that refills it, None when there is none."""

    zone: Zone
    fact: SoakingRain | None


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

    A soaking rain is told for each zone that has a plan, by what its roots hold in this month and
    need day by day; without a usual year no zone has one.
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
    return WeatherOutlook(weather, forecast, hot_c, facts, _soakings(property_, days, today))


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


def _soakings(property_: Property, days: DailyWeather, today: dt.date) -> tuple[ZoneSoaking, ...]:
    try:
        season = property_season(property_, today)
    except DomainError:
        return ()
    return tuple(
        ZoneSoaking(each.zone, _soaking(each, season.climate, days, today)) for each in season.zones
    )


def _soaking(
    each: ZoneSeasonFacts, climate: Climate, days: DailyWeather, today: dt.date
) -> SoakingRain | None:
    if each.plan is None:
        return None
    month = each.plan.months[today.month - 1]
    if month.days_between is None or month.need_mm_day <= 0 or month.raw_mm <= 0:
        return None
    usual_mm = np.array([one.need_mm_day for one in each.plan.months])
    return soaking_rain(
        days,
        store_mm=month.raw_mm,
        need_mm=_need_of_days(usual_mm, np.array(climate.et0_mm_day), days),
        need_mm_day=month.need_mm_day,
    )


def _need_of_days(
    usual_mm: NDArray[np.float64], usual_et0_mm: NDArray[np.float64], days: DailyWeather
) -> NDArray[np.float64]:
    """Return the need of each day: that of its month, by as much as its ET0 is above the usual."""
    month = days.dates.astype("datetime64[M]").astype(np.int64) % 12
    per_et0 = usual_mm / np.where(usual_et0_mm > 0, usual_et0_mm, np.inf)
    need_mm = np.where(np.isnan(days.et0_mm), usual_mm[month], per_et0[month] * days.et0_mm)
    return np.minimum(need_mm, MOST_NEED_MM_DAY)
