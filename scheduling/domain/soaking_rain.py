"""Whether rain alone has filled the roots' store again, or is about to, and how long that lasts."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within, within
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.rain import daily_effective_rain_mm, rain_skip_days
from scheduling.domain.weather_words import SoakingRain

_FLOAT_NOISE_MM: Final = 1e-9
MOST_NEED_MM_DAY: Final = 50.0

_Floats = NDArray[np.float64]


def soaking_rain(
    weather: DailyWeather, *, store_mm: float, need_mm: ArrayLike, need_mm_day: float
) -> SoakingRain | None:
    """Return the newest rain that filled the store and still lasts, or the next that will.

    1. An account runs over the days from an empty store: rain in, what is beyond the store drains,
       then the need of the day, in the order of the water account. Irrigation is left out, so it
       knows of less water than there may be.
    2. A day on which rain brings the store to its top is a full one; it is told with the shortest
       row of days up to it that fills the store from empty.
    3. What is left in the evening of the last observed day says how long it lasts. A full day that
       was is told while that covers a day; only else one within the days of the forecast that are
       worth telling.

    Parameters
    ----------
    weather : observed, then forecast days. Unknown rain counts as none, and is told; for an unknown
        ET0 the need stands in, it only decides which drizzle dries off.
    store_mm : readily available water of the root zone [mm], above 0 to 5000.
    need_mm : what the plants used or will use on each day [mm], one for all or one a day, 0 to 50.
    need_mm_day : what they usually use, for the days that it lasts [mm d-1], above 0 to 50.

    Raises
    ------
    InvalidInputError
        For a value out of range, or needs for another number of days.

    References
    ----------
    FAO-56, eq. 85: balance. Effective rain: `scheduling.domain.rain.daily_effective_rain_mm`.
    """
    store = number_within(store_mm, 1e-6, 5000.0, field="store_mm")
    usual = number_within(need_mm_day, 1e-6, MOST_NEED_MM_DAY, field="need_mm_day")
    need = _need_of_days(need_mm, weather)
    et0 = np.where(np.isnan(weather.et0_mm), need, weather.et0_mm)
    gained = np.nan_to_num(np.asarray(daily_effective_rain_mm(weather.rain_mm, et0)))
    is_full, level = _account(gained, need, store)
    now = weather.last_observed
    seen = np.flatnonzero(is_full & ~weather.is_forecast)
    lasts = level >= usual - _FLOAT_NOISE_MM
    ahead = np.flatnonzero(is_full & lasts & weather.is_forecast & weather.is_near)
    days_left = rain_skip_days(level[now], usual, store_mm=store) if seen.size else 0
    if days_left:
        last, skip_days = int(seen[-1]), now - int(seen[-1]) + days_left
    elif ahead.size:
        last = int(ahead[0])
        skip_days = rain_skip_days(level[last], usual, store_mm=store)
    else:
        return None
    first = _first_day_of(last, gained, need, store)
    return _told(weather, first, last, gained, skip_days)


def _need_of_days(need_mm: ArrayLike, weather: DailyWeather) -> _Floats:
    need = np.asarray(within(need_mm, 0.0, MOST_NEED_MM_DAY, field="need_mm"))
    if need.shape not in {(), weather.dates.shape}:
        raise InvalidInputError(
            f"need_mm has {need.size} values for {weather.dates.size} days.",
            field="need_mm", code="length", remedy="Give one value for all days, or one a day.",
        )  # fmt: skip
    return np.broadcast_to(need, weather.dates.shape)


def _account(gained: _Floats, need: _Floats, store_mm: float) -> tuple[NDArray[np.bool_], _Floats]:
    """Return on which days rain fills the store, and what it holds in the evening [mm]."""
    is_full, evening = np.zeros(gained.size, bool), np.zeros(gained.size)
    level = 0.0
    for day, (rain, used) in enumerate(zip(gained.tolist(), need.tolist(), strict=True)):
        reached = level + rain
        is_full[day] = rain > 0 and reached >= store_mm - _FLOAT_NOISE_MM
        level = max(min(reached, store_mm) - used, 0.0)
        evening[day] = level
    return is_full, evening


def _first_day_of(full: int, gained: _Floats, need: _Floats, store_mm: float) -> int:
    """Return the newest day from which an empty store is full on that day."""
    lack = store_mm
    for day in range(full, 0, -1):
        lack -= gained[day]
        if lack <= _FLOAT_NOISE_MM:
            return day
        lack += need[day - 1]
    return 0


def _told(
    weather: DailyWeather, first: int, last: int, gained: _Floats, skip_days: int
) -> SoakingRain:
    days = np.arange(weather.dates.size)
    of_it = (days >= first) & (days <= last)
    rain = np.nan_to_num(np.where(of_it, weather.rain_mm, 0.0))
    unknown = np.isnan(weather.rain_mm) & (days >= first) & ~weather.is_forecast
    return SoakingRain(
        first_date=weather.day(first),
        last_date=weather.day(last),
        rain_mm=float(rain.sum()),
        forecast_mm=float(rain[weather.is_forecast].sum()),
        effective_mm=float(gained[of_it].sum()),
        skip_days=skip_days,
        days_forecast=int((of_it & weather.is_forecast).sum()),
        days_unknown=int(unknown.sum()),
    )
