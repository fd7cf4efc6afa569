"""Whether rain alone has filled the roots' store again, or is about to, and how long that lasts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within, within
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.rain import daily_effective_rain_mm, rain_skip_days
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.weather_words import SoakingRain

_FLOAT_NOISE_MM: Final = 1e-9
MOST_NEED_MM_DAY: Final = 50.0
# Common practice: a shower that tops up what the sprinklers filled is no soaking rain.
LEAST_RAIN_SHARE: Final = 0.5

_Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the zone account knows beside the rain [mm].

    start_mm : what is stored before the first day, the reserve included; full when None.
    reserve_mm : what lies below the readily available water and is used under stress.
    watered_mm : what waterings brought to the roots, net, one for all or one a day.
    """

    start_mm: float | None = None
    reserve_mm: float = 0.0
    watered_mm: ArrayLike = 0.0


@dataclass(frozen=True)
class _Days:
    """What comes in and goes out day by day, and the store that it fills [mm]."""

    gained: _Floats
    watered: _Floats
    need: _Floats
    store_mm: float


def soaking_rain(
    weather: DailyWeather, *, store_mm: float, need_mm: ArrayLike, need_mm_day: float, held: Held
) -> SoakingRain | None:
    """Return the newest rain that filled the store and still lasts, or the next that will.

    1. The water account runs over the days from what is held: rain and waterings in, what is beyond
       the store drains, then the need of the day.
    2. A day on which rain brings the store to its top is a full one; it is told with the shortest
       row of days up to it that fills the readily available store from empty, and only where the
       rain of that row alone gives half of it.
    3. What rain alone leaves of it in the evening of the last observed day says how long it lasts.
       A full day that was is told while that covers a day; only else one within the days of the
       forecast that are worth telling. Of days ahead no watering is taken.

    Parameters
    ----------
    weather : observed, then forecast days. Unknown rain counts as none, and is told; for an unknown
        ET0 the need stands in, it only decides which drizzle dries off.
    store_mm : readily available water of the root zone [mm], above 0 to 5000.
    need_mm : what the plants used or will use on each day [mm], one for all or one a day, 0 to 50.
    need_mm_day : what they usually use, for the days that it lasts [mm d-1], above 0 to 50.
    held : what the account starts from, and the waterings.

    Raises
    ------
    InvalidInputError
        For a value out of range, or values for another number of days.

    References
    ----------
    FAO-56, eq. 85 and 84: balance and stress (`water_balance.simulate`). Effective rain:
    `scheduling.domain.rain.daily_effective_rain_mm`. Half of the store: common practice.
    """
    store = number_within(store_mm, 1e-6, 5000.0, field="store_mm")
    usual = number_within(need_mm_day, 1e-6, MOST_NEED_MM_DAY, field="need_mm_day")
    need = _of_days(need_mm, MOST_NEED_MM_DAY, weather, field="need_mm")
    watered = _of_days(held.watered_mm, 1000.0, weather, field="watered_mm")
    et0 = np.where(np.isnan(weather.et0_mm), need, weather.et0_mm)
    gained = np.nan_to_num(np.asarray(daily_effective_rain_mm(weather.rain_mm, et0)))
    days = _Days(gained, watered, need, store)
    soaks, level = _account(days, held)
    seen, ahead = _places(weather, soaks, level >= usual - _FLOAT_NOISE_MM)
    now = weather.last_observed
    left = rain_skip_days(_left_mm(days, seen, now), usual, store_mm=store) if seen >= 0 else 0
    if left:
        return _told(weather, days, seen, now - seen + left)
    if ahead >= 0:
        return _told(weather, days, ahead, rain_skip_days(level[ahead], usual, store_mm=store))
    return None


def _of_days(values: ArrayLike, most: float, weather: DailyWeather, *, field: str) -> _Floats:
    checked = np.asarray(within(values, 0.0, most, field=field))
    if checked.shape not in {(), weather.dates.shape}:
        raise InvalidInputError(
            f"{field} has {checked.size} values for {weather.dates.size} days.",
            field=field, code="length", remedy="Give one value for all days, or one a day.",
        )  # fmt: skip
    return np.broadcast_to(checked, weather.dates.shape)


def _account(days: _Days, held: Held) -> tuple[NDArray[np.bool_], _Floats]:
    """Return on which days rain soaks, and what is readily available in the evening [mm]."""
    account = simulate(
        days.need[:, np.newaxis],
        days.gained[:, np.newaxis],
        Waterings(gross_mm=days.watered[:, np.newaxis]),
        RootZone(storage_mm=days.store_mm, reserve_mm=held.reserve_mm, start_mm=held.start_mm),
    )
    before = np.concatenate((account.start_mm, account.stored_mm[:-1, 0]))
    is_full = (days.gained > 0) & (
        before + days.gained >= days.store_mm + held.reserve_mm - _FLOAT_NOISE_MM
    )
    for place in np.flatnonzero(is_full).tolist():
        row = days.gained[_first_day_of(place, days) : place + 1]
        is_full[place] = row.sum() >= LEAST_RAIN_SHARE * days.store_mm - _FLOAT_NOISE_MM
    return is_full, np.maximum(account.stored_mm[:, 0] - held.reserve_mm, 0.0)


def _places(
    weather: DailyWeather, soaks: NDArray[np.bool_], lasts: NDArray[np.bool_]
) -> tuple[int, int]:
    """Return the newest soaking day that was and the next ahead; -1 where there is none."""
    seen = np.flatnonzero(soaks & ~weather.is_forecast)
    ahead = np.flatnonzero(soaks & lasts & weather.is_forecast & weather.is_near)
    return int(seen[-1]) if seen.size else -1, int(ahead[0]) if ahead.size else -1


def _left_mm(days: _Days, full: int, now: int) -> float:
    """Return what rain alone leaves of a store that was full on a day [mm]; used up is used up."""
    left = max(days.store_mm - float(days.need[full]), 0.0)
    for day in range(full + 1, now + 1):
        if left == 0.0:
            break
        left = min(left + float(days.gained[day]), days.store_mm) - float(days.need[day])
        left = max(left, 0.0)
    return left


def _first_day_of(full: int, days: _Days) -> int:
    """Return the newest day from which an empty store is full on that day.

    A watering of the day itself came after its rain.
    """
    lack = days.store_mm
    for day in range(full, 0, -1):
        lack -= days.gained[day]
        if lack <= _FLOAT_NOISE_MM:
            return day
        lack += days.need[day - 1] - days.watered[day - 1]
    return 0


def _told(weather: DailyWeather, days: _Days, last: int, skip_days: int) -> SoakingRain:
    since, places = _first_day_of(last, days), np.arange(weather.dates.size)
    first = since + int(np.flatnonzero(days.gained[since : last + 1])[0])  # waterings may go before
    of_it = (places >= first) & (places <= last)
    rain = np.nan_to_num(np.where(of_it, weather.rain_mm, 0.0))
    unknown = np.isnan(weather.rain_mm) & (places >= first) & ~weather.is_forecast
    return SoakingRain(
        first_date=weather.day(first),
        last_date=weather.day(last),
        rain_mm=float(rain.sum()),
        forecast_mm=float(rain[weather.is_forecast].sum()),
        effective_mm=float(days.gained[of_it].sum()),
        skip_days=skip_days,
        days_forecast=int((of_it & weather.is_forecast).sum()),
        days_unknown=int(unknown.sum()),
        days_watered=int((days.watered[since:last] > 0).sum()),
    )
