"""Days of weather by hand, for tests of what is told of them."""

from __future__ import annotations

import datetime as dt

import numpy as np

from scheduling.domain.daily_weather import DailyWeather

FIRST = dt.date(2026, 6, 1)


def make_weather(seen=10, ahead=5, **columns):
    """Ten mild dry days and five forecast ones, but for the values given by place."""
    count = seen + ahead
    usual = {"tmin_c": 12.0, "tmax_c": 24.0, "rain_mm": 0.0, "et0_mm": 4.0}
    filled = {}
    for name, value in usual.items():
        filled[name] = np.full(count, value)
        for place, own in columns.get(name, {}).items():
            filled[name][place] = own
    dates = np.datetime64(FIRST, "D") + np.arange(count)
    return DailyWeather(dates=dates, is_forecast=np.arange(count) >= seen, **filled)


def day(place):
    return FIRST + dt.timedelta(days=place)
