"""Typical years of three stations out of the pvlib package: hours folded to days.

Three files of the US government's typical-year sets that the package ships: Greensboro and Sand
Point of the third set (comma separated), Miami of the second (fixed width, tenths).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

HOURS = 24


@dataclass(frozen=True)
class TypicalYear:
    """365 days of a station, whose wind was measured at 10 m."""

    latitude_deg: float
    elevation_m: float
    day_of_year: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    dew_point_c: np.ndarray
    humidity_min_percent: np.ndarray
    humidity_max_percent: np.ndarray
    humidity_percent: np.ndarray
    wind_m_s: np.ndarray
    solar_mj_m2: np.ndarray

    @property
    def months(self) -> np.ndarray:
        first = dt.date(2021, 1, 1)
        return np.array([(first + dt.timedelta(days=day)).month for day in range(365)])

    @property
    def summer(self) -> np.ndarray:
        return (self.months >= 6) & (self.months <= 9)


def package_file(package: str, *parts: str) -> Path:
    """The path of a data file, without importing the package."""
    spec = find_spec(package)
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent.joinpath(*parts)


@cache
def greensboro() -> TypicalYear:
    return _folded(36.10, 273.0, _comma_separated("723170TYA.CSV"))


@cache
def sand_point() -> TypicalYear:
    return _folded(55.317, 7.0, _comma_separated("703165TY.csv"))


@cache
def miami() -> TypicalYear:
    return _folded(25.8, 2.0, _fixed_width("12839.tm2"))


YEARS = {"Greensboro": greensboro, "Miami": miami, "Sand Point": sand_point}


def _comma_separated(name: str) -> Iterator[list[float]]:
    _, header, *lines = package_file("pvlib", "data", name).read_text().splitlines()
    columns = header.split(",")
    wanted = ["Dry-bulb (C)", "Dew-point (C)", "RHum (%)", "Wspd (m/s)", "GHI (W/m^2)"]
    places = [columns.index(column) for column in wanted]
    for line in lines:
        cells = line.split(",")
        yield [float(cells[place]) for place in places]


def _fixed_width(name: str) -> Iterator[list[float]]:
    _, *lines = package_file("pvlib", "data", name).read_text().splitlines()
    for line in lines:
        tenths = [float(line[start : start + 4]) / 10 for start in (67, 73)]
        yield [*tenths, float(line[79:82]), float(line[95:98]) / 10, float(line[17:21])]


def _folded(latitude_deg: float, elevation_m: float, hours: Iterator[list[float]]) -> TypicalYear:
    days = np.array(list(hours)).reshape(365, HOURS, 5)
    air_c, dew_point_c, humidity, wind, sun_w_m2 = np.moveaxis(days, 2, 0)
    return TypicalYear(
        latitude_deg=latitude_deg,
        elevation_m=elevation_m,
        day_of_year=np.arange(1, 366),
        tmin_c=air_c.min(axis=1),
        tmax_c=air_c.max(axis=1),
        dew_point_c=dew_point_c.mean(axis=1),
        humidity_min_percent=humidity.min(axis=1),
        humidity_max_percent=humidity.max(axis=1),
        humidity_percent=humidity.mean(axis=1),
        wind_m_s=wind.mean(axis=1),
        solar_mj_m2=sun_w_m2.sum(axis=1) * 0.0036,
    )
