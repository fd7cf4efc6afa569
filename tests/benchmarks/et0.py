"""ET0 of a million station-days: ours against the two reference libraries, on the same arrays.

Run with `.venv/bin/python -m tests.benchmarks.et0`; pytest does not collect it. A hundred stations
have 10,000 days each. Each way runs three times and the best counts; memory is the peak of what
Python and NumPy allocate, taken in a run of its own.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pyet
import refet

from scheduling.domain.air import wind_at_2m
from scheduling.domain.evapotranspiration import (
    extraterrestrial_radiation,
    hargreaves,
    penman_monteith,
)
from scheduling.domain.humidity import vapour_pressure_from_dew_point

STATIONS = 100
DAYS = 10_000
RUNS = 3
ANEMOMETER_M = 10.0


@dataclass(frozen=True)
class Weather:
    """Columns of STATIONS x DAYS entries, a station's days side by side."""

    tmin_c: np.ndarray
    tmax_c: np.ndarray
    dew_point_c: np.ndarray
    solar_mj_m2: np.ndarray
    wind_m_s: np.ndarray
    latitude_deg: np.ndarray
    elevation_m: np.ndarray
    dates: pd.DatetimeIndex
    day_of_year: np.ndarray


def made_up_weather() -> Weather:
    rng = np.random.default_rng(20261125)
    dates = pd.date_range("1990-01-01", periods=DAYS).repeat(STATIONS)
    size = STATIONS * DAYS
    tmin_c = rng.uniform(-5, 24, size)
    return Weather(
        tmin_c=tmin_c,
        tmax_c=tmin_c + rng.uniform(4, 18, size),
        dew_point_c=tmin_c - rng.uniform(0, 6, size),
        solar_mj_m2=rng.uniform(4, 30, size),
        wind_m_s=rng.uniform(0.5, 8, size),
        latitude_deg=np.tile(rng.uniform(25, 50, STATIONS), DAYS),
        elevation_m=np.tile(rng.uniform(0, 2000, STATIONS), DAYS),
        dates=dates,
        day_of_year=dates.dayofyear.to_numpy(),
    )


def our_penman_monteith(days: Weather) -> np.ndarray:
    return penman_monteith(
        days.tmin_c,
        days.tmax_c,
        vapour_pressure_from_dew_point(days.dew_point_c),
        days.solar_mj_m2,
        wind_at_2m(days.wind_m_s, ANEMOMETER_M),
        days.latitude_deg,
        days.day_of_year,
        days.elevation_m,
    )


def refet_penman_monteith(days: Weather) -> np.ndarray:
    return refet.Daily(
        tmin=days.tmin_c,
        tmax=days.tmax_c,
        tdew=days.dew_point_c,
        rs=days.solar_mj_m2,
        uz=days.wind_m_s,
        zw=ANEMOMETER_M,
        elev=days.elevation_m,
        lat=days.latitude_deg,
        doy=days.day_of_year,
        method="asce",
        rso_type="simple",
    ).eto()


def pyet_penman_monteith(days: Weather) -> np.ndarray:
    """pyet takes one place at a time, so a station of all days is one call; no loop is timed."""
    series = [
        pd.Series(values, index=days.dates)
        for values in (
            (days.tmin_c + days.tmax_c) / 2,
            wind_at_2m(days.wind_m_s, ANEMOMETER_M),
            days.solar_mj_m2,
            days.tmax_c,
            days.tmin_c,
            vapour_pressure_from_dew_point(days.dew_point_c),
        )
    ]
    mean, wind, rs, tmax, tmin, ea = series
    return pyet.pm_fao56(
        mean,
        wind,
        rs=rs,
        tmax=tmax,
        tmin=tmin,
        ea=ea,
        elevation=float(days.elevation_m[0]),
        lat=float(np.radians(days.latitude_deg[0])),
    ).to_numpy()


def our_hargreaves(days: Weather) -> np.ndarray:
    radiation = extraterrestrial_radiation(days.latitude_deg, days.day_of_year)
    return hargreaves(days.tmin_c, days.tmax_c, radiation)


def pyet_hargreaves(days: Weather) -> np.ndarray:
    mean, tmax, tmin = (
        pd.Series(values, index=days.dates)
        for values in ((days.tmin_c + days.tmax_c) / 2, days.tmax_c, days.tmin_c)
    )
    return pyet.hargreaves(mean, tmax, tmin, lat=float(np.radians(days.latitude_deg[0]))).to_numpy()


def seconds(way: Callable[[Weather], np.ndarray], days: Weather) -> float:
    def once() -> float:
        start = time.perf_counter()
        way(days)
        return time.perf_counter() - start

    return min(once() for _ in range(RUNS))


def peak_mb(way: Callable[[Weather], np.ndarray], days: Weather) -> float:
    tracemalloc.start()
    way(days)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def compare(title: str, days: Weather, ways: dict[str, Callable[[Weather], np.ndarray]]) -> None:
    taken = {name: seconds(way, days) for name, way in ways.items()}
    print(f"{title}, {days.tmin_c.size:,} station-days")
    for name, way in ways.items():
        ratio = taken[name] / taken["ours"]
        print(f"  {name:6} {taken[name]:7.3f} s  {ratio:5.2f} x ours  {peak_mb(way, days):6.0f} MB")


def main() -> None:
    days = made_up_weather()
    difference = np.abs(our_penman_monteith(days) - np.maximum(refet_penman_monteith(days), 0))
    print(f"largest difference of ours from refet: {difference.max():.4f} mm")
    compare(
        "Penman-Monteith",
        days,
        {
            "ours": our_penman_monteith,
            "refet": refet_penman_monteith,
            "pyet": pyet_penman_monteith,
        },
    )
    compare("Hargreaves", days, {"ours": our_hargreaves, "pyet": pyet_hargreaves})


if __name__ == "__main__":
    main()
