"""The days of one station, observed and forecast, and the heat that they bring."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.weather_facts import heat_run, hot_threshold_c
from scheduling.domain.weather_words import HeatRun
from scheduling.models import WeatherStation
from scheduling.selectors.forecasts import oldest_told

PAST_DAYS: Final = 60
AHEAD_DAYS: Final = 14
HOT_YEARS_DAYS: Final = 10 * 366
_NAMES: Final = ("tmin_c", "tmax_c", "rain_mm", "et0_mm")


def days_around(station: WeatherStation, today: dt.date, *, now: dt.datetime) -> DailyWeather:
    """Return 60 days up to yesterday and 14 from today on, NaN where nothing is known.

    Of a forecast that is too old to be told by nothing is known.
    """
    first = today - dt.timedelta(days=PAST_DAYS)
    columns = {name: np.full(PAST_DAYS + AHEAD_DAYS, np.nan) for name in _NAMES}
    last = today + dt.timedelta(days=AHEAD_DAYS - 1)
    for rows in (
        station.days.filter(date__range=(first, today - dt.timedelta(days=1))),
        station.forecast_days.filter(
            date__range=(today, last), document__issued_at__gte=oldest_told(now)
        ),
    ):
        for date, *values in rows.values_list("date", *_NAMES):
            for name, value in zip(_NAMES, values, strict=True):
                columns[name][(date - first).days] = np.nan if value is None else value
    dates = np.datetime64(first, "D") + np.arange(PAST_DAYS + AHEAD_DAYS)
    return DailyWeather(dates=dates, is_forecast=np.arange(dates.size) >= PAST_DAYS, **columns)


def hot_from_c(station: WeatherStation, today: dt.date) -> float | None:
    """Return from which maximum a day counts as hot at a station [degC], by its last ten years."""
    since = today - dt.timedelta(days=HOT_YEARS_DAYS)
    rows = station.days.filter(date__gt=since, tmax_c__isnull=False)
    maxima: NDArray[Any] = np.array(rows.values_list("tmax_c", flat=True), dtype=np.float64)
    return hot_threshold_c(maxima)


def heat_at(station: WeatherStation, today: dt.date, *, now: dt.datetime) -> HeatRun | None:
    """Return the hot days in a row that are not over yet, or None."""
    threshold_c = hot_from_c(station, today)
    if threshold_c is None:
        return None
    return heat_run(days_around(station, today, now=now), threshold_c=threshold_c)
