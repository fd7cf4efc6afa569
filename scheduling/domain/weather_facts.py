"""What the weather has done and is about to do, where it changes what a client should do."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.bounds import number_within, within
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.evapotranspiration import COLDEST_C, HOTTEST_C
from scheduling.domain.rain import LOST_FIRST_MM
from scheduling.domain.weather_words import DrySpell, FrostAhead, HardFrostAhead, HeatRun

FROST_C: Final = 3.0  # common practice: grass may freeze while the air at 2 m is still above zero
HARD_FROST_C: Final = -2.0  # common practice: from there on water freezes in heads and pipes
FROST_FREE_DAYS: Final = 14  # common practice: a frost after fewer is winter going on, no news
HOT_PERCENT: Final = 95.0  # common practice: the eighteen hottest days of a year
LEAST_HOT_SAMPLE_DAYS: Final = 1461  # four fifths of five years: fewer say little of the hottest
HEAT_RUN_DAYS: Final = 3  # common practice
LATEST_HEAT_DAYS: Final = 7  # common practice: heat of which nothing is known since says nothing
DRY_SPELL_DAYS: Final = 14  # common practice

_Floats = NDArray[np.float64]
_Bools = NDArray[np.bool_]


def frosts_ahead(weather: DailyWeather) -> tuple[FrostAhead, ...]:
    """Return the first frost and the first hard frost ahead; a first one that is hard stands alone.

    Both are told once: see `frost_ahead`.
    """
    light, hard = frost_ahead(weather), frost_ahead(weather, threshold_c=HARD_FROST_C)
    if light is not None and hard is not None and light.first_date == hard.first_date:
        light = None
    return tuple(fact for fact in (light, hard) if fact is not None)


def frost_ahead(weather: DailyWeather, *, threshold_c: float = FROST_C) -> FrostAhead | None:
    """Return the first night at or below the threshold in the 7 days of the forecast, or None.

    It is told after 14 days without such a night only: in winter each night would be one. Nights
    that are unknown count as without. At or below -2 degC it is a hard frost.

    Parameters
    ----------
    weather : observed, then forecast days.
    threshold_c : [degC], -30 to 30.
    """
    number_within(threshold_c, -30.0, 30.0, field="threshold_c")
    is_cold = weather.tmin_c <= threshold_c
    cold = np.flatnonzero(is_cold & weather.is_forecast & weather.is_near)
    if not cold.size:
        return None
    first = int(cold[0])
    if is_cold[max(0, first - FROST_FREE_DAYS) : first].any():
        return None
    of_kind = HardFrostAhead if threshold_c <= HARD_FROST_C else FrostAhead
    return of_kind(weather.day(first), float(weather.tmin_c[first]), threshold_c, int(cold.size))


def heat_run(
    weather: DailyWeather, *, threshold_c: float, least_days: int = HEAT_RUN_DAYS
) -> HeatRun | None:
    """Return the first run of hot days that ends with the last known day or later, or None.

    Of the forecast 7 days count. Where the station is late the run is told up to the last day that
    is known, with how many are unknown since; after more than 7 unknown days it is not.

    Parameters
    ----------
    weather : observed, then forecast days; an unknown maximum ends a run.
    threshold_c : from which maximum a day is hot [degC].
    least_days : the shortest run that is told [d], 1 or more.
    """
    number_within(threshold_c, -30.0, 60.0, field="threshold_c")
    number_within(least_days, 1, 366, field="least_days")
    runs = _runs((weather.tmax_c >= threshold_c) & weather.is_near)
    since = _last_known(weather.tmax_c, weather.last_observed)
    told = [(a, b) for a, b in runs if b - a + 1 >= least_days and b >= since]
    if not told:
        return None
    first, last = told[0]
    return HeatRun(
        first_date=weather.day(first),
        last_date=weather.day(last),
        days=last - first + 1,
        temperature_c=float(weather.tmax_c[first : last + 1].max()),
        threshold_c=threshold_c,
        days_forecast=int(weather.is_forecast[first : last + 1].sum()),
        days_unknown_after=max(0, weather.last_observed - last),
    )


def dry_spell(weather: DailyWeather, *, least_days: int = DRY_SPELL_DAYS) -> DrySpell | None:
    """Return the days up to the last known observed one without useful rain, or None.

    Rain of at most 0.1 in a day does not reach the roots and does not end the spell. Days of
    unknown rain within it are counted in it and told; those after it are told, not counted. A spell
    known by half or less, those after it included, is none.

    References
    ----------
    Texas A&M AgriLife ET network, effective rainfall: the first 0.1 in of an event is lost.
    """
    number_within(least_days, 1, 366, field="least_days")
    rain = weather.rain_mm[~weather.is_forecast]
    wet = np.flatnonzero(rain > LOST_FIRST_MM)
    first = int(wet[-1]) + 1 if wet.size else 0
    known = first + np.flatnonzero(~np.isnan(rain[first:]))
    if not known.size or 2 * known.size <= rain.size - first:
        return None
    last = int(known[-1])
    days = last - first + 1
    if days < least_days:
        return None
    return DrySpell(
        first_date=weather.day(first),
        last_date=weather.day(last),
        days=days,
        days_unknown=days - int(known.size),
        rain_mm=float(rain[known].sum()),
        days_unknown_after=rain.size - 1 - last,
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


def _last_known(values: _Floats, last_observed: int) -> int:
    """Return the place of the last observed value; of the last observed day where it is too old."""
    known = np.flatnonzero(~np.isnan(values[: last_observed + 1]))
    last = int(known[-1]) if known.size else -1
    return last if last_observed - last <= LATEST_HEAT_DAYS else last_observed


def _runs(hot: _Bools) -> list[tuple[int, int]]:
    """Return first and last place of each run of true."""
    edges = np.diff(np.concatenate([[0], hot.astype(np.int8), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return list(zip(starts.tolist(), ends.tolist(), strict=True))
