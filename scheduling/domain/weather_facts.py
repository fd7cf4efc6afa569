"""What the weather has done and is about to do, where it changes what a client should do."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.bounds import number_within, within
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.evapotranspiration import COLDEST_C, HOTTEST_C
from scheduling.domain.rain import LOST_FIRST_MM, effective_rain_mm, rain_skip_days
from scheduling.domain.weather_words import DrySpell, FrostAhead, HeatRun, SoakingRain

FROST_C: Final = 3.0  # common practice: grass may freeze while the air at 2 m is still above zero
HOT_PERCENT: Final = 95.0  # common practice: the eighteen hottest days of a year
LEAST_HOT_SAMPLE_DAYS: Final = 1461  # four fifths of five years: fewer say little of the hottest
HEAT_RUN_DAYS: Final = 3  # common practice
DRY_SPELL_DAYS: Final = 14  # common practice
SOAKING_DAYS: Final = 2  # common practice: what falls on two days in a row is one soaking
_FLOAT_NOISE_MM: Final = 1e-9

_Floats = NDArray[np.float64]


def frost_ahead(weather: DailyWeather, *, threshold_c: float = FROST_C) -> FrostAhead | None:
    """Return the first forecast night at or below the threshold [degC], or None."""
    number_within(threshold_c, -30.0, 30.0, field="threshold_c")
    cold = np.flatnonzero(weather.is_forecast & (weather.tmin_c <= threshold_c))
    if not cold.size:
        return None
    first = int(cold[0])
    return FrostAhead(weather.day(first), float(weather.tmin_c[first]), threshold_c)


def heat_run(
    weather: DailyWeather, *, threshold_c: float, least_days: int = HEAT_RUN_DAYS
) -> HeatRun | None:
    """Return the first run of hot days that ends with the last observed day or later, or None.

    Parameters
    ----------
    weather : observed, then forecast days; an unknown maximum ends a run.
    threshold_c : from which maximum a day is hot [degC].
    least_days : the shortest run that is told [d], 1 or more.
    """
    number_within(threshold_c, -30.0, 60.0, field="threshold_c")
    number_within(least_days, 1, 366, field="least_days")
    last_seen = weather.last_observed
    runs = _runs(weather.tmax_c >= threshold_c)
    told = [(a, b) for a, b in runs if b - a + 1 >= least_days and b >= last_seen]
    if not told:
        return None
    first, last = told[0]
    return HeatRun(
        first_date=weather.day(first),
        last_date=weather.day(last),
        days=last - first + 1,
        temperature_c=float(weather.tmax_c[first : last + 1].max()),
        threshold_c=threshold_c,
        is_forecast=bool(weather.is_forecast[last]),
    )


def soaking_rain(
    weather: DailyWeather, *, store_mm: float, need_mm_day: float, already_mm: float = 0.0
) -> SoakingRain | None:
    """Return the newest rain that refilled the store and still lasts, or the next that will.

    Up to two wet days in a row count as one soaking; each is an event of its own. A rain that was
    seen is told while it covers the need; only when none does, a forecast one is.

    Parameters
    ----------
    weather : observed, then forecast days.
    store_mm : readily available water of the root zone [mm], above 0: it holds no more.
    need_mm_day : what the plants use [mm d-1], above 0.
    already_mm : what the store is known to hold [mm]: a rain has only the rest to fill.

    References
    ----------
    Effective rain by event: `scheduling.domain.rain`.
    """
    number_within(store_mm, 1e-6, 5000.0, field="store_mm")
    number_within(already_mm, 0.0, store_mm, field="already_mm")
    lack_mm = store_mm - already_mm
    gained = np.nan_to_num(np.asarray(effective_rain_mm(weather.rain_mm)))
    soaked = _sum_of_last(gained, SOAKING_DAYS)
    full = np.flatnonzero((soaked >= lack_mm - _FLOAT_NOISE_MM) & (gained > 0))
    seen = [int(day) for day in full if not weather.is_forecast[day]]
    ahead = [int(day) for day in full if weather.is_forecast[day]]

    skip_days = rain_skip_days(store_mm, need_mm_day, store_mm=store_mm)
    if seen and seen[-1] + skip_days > weather.last_observed:
        return _soaking(weather, seen[-1], gained, skip_days)
    return _soaking(weather, ahead[0], gained, skip_days) if ahead else None


def dry_spell(weather: DailyWeather, *, least_days: int = DRY_SPELL_DAYS) -> DrySpell | None:
    """Return the days up to the last observed one without useful rain, or None.

    Rain of at most 0.1 in a day does not reach the roots and does not end the spell. Days of
    unknown rain are counted in it and told; a spell known by half or less is none.

    References
    ----------
    Texas A&M AgriLife ET network, effective rainfall: the first 0.1 in of an event is lost.
    """
    number_within(least_days, 1, 366, field="least_days")
    rain = weather.rain_mm[~weather.is_forecast]
    wet = np.flatnonzero(rain > LOST_FIRST_MM)
    first = int(wet[-1]) + 1 if wet.size else 0
    spell = rain[first:]
    unknown = int(np.isnan(spell).sum())
    if spell.size < least_days or unknown * 2 >= spell.size:
        return None
    return DrySpell(
        first_date=weather.day(first),
        last_date=weather.day(rain.size - 1),
        days=int(spell.size),
        days_unknown=unknown,
        rain_mm=float(np.nansum(spell)),
    )


def hot_threshold_c(tmax_c: _Floats, *, percent: float = HOT_PERCENT) -> float | None:
    """Return from which maximum a day is one of the hottest of a year [degC], or None.

    Parameters
    ----------
    tmax_c : daily maxima of whole years [degC], NaN where missing; fewer than 1461 known ones
        (four fifths of five years) tell nothing.
    percent : share of the days that stay below, 50 to 100.
    """
    number_within(percent, 50.0, 100.0, field="percent")
    maxima = within(tmax_c, COLDEST_C, HOTTEST_C, field="tmax_c", missing_ok=True)
    known = maxima[~np.isnan(maxima)]
    return float(np.percentile(known, percent)) if known.size >= LEAST_HOT_SAMPLE_DAYS else None


def _runs(hot: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return first and last place of each run of true."""
    edges = np.diff(np.concatenate([[0], hot.astype(np.int8), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return list(zip(starts.tolist(), ends.tolist(), strict=True))


def _sum_of_last(values: _Floats, days: int) -> _Floats:
    total = np.concatenate([np.zeros(days), np.cumsum(values)])
    return np.asarray(total[days:] - total[:-days])


def _soaking(weather: DailyWeather, last: int, gained: _Floats, skip_days: int) -> SoakingRain:
    window = range(max(0, last - SOAKING_DAYS + 1), last + 1)
    wet = [day for day in window if gained[day] > 0]
    return SoakingRain(
        first_date=weather.day(wet[0]),
        last_date=weather.day(last),
        rain_mm=float(weather.rain_mm[wet].sum()),
        effective_mm=float(gained[wet].sum()),
        skip_days=skip_days,
        is_forecast=bool(weather.is_forecast[last]),
    )
