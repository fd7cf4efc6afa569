"""Daily weather out of the open files of the aquacrop package (MIT), found but not imported.

Each file has its own ET0 column; nobody says how it was made. Shares no code with the product.
"""

from __future__ import annotations

import datetime as dt
import importlib.util
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np

# The files do not name places more closely; latitudes are those of the towns they are called after.
LATITUDES = {
    "champion": 40.40,
    "cordoba": -31.4,
    "hyderabad": 17.38,
    "tunis": 36.8,
    "brussels": 50.80,
}


@dataclass(frozen=True)
class Series:
    """Days in order, one row each [degC, mm]."""

    site: str
    latitude_deg: float
    dates: tuple[dt.date, ...]
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    rain_mm: np.ndarray
    et0_mm: np.ndarray

    def years(self, first: int, last: int) -> Series:
        """The days of these calendar years, both included."""
        kept = np.array([first <= date.year <= last for date in self.dates])
        columns = ("tmin_c", "tmax_c", "rain_mm", "et0_mm")
        return replace(
            self,
            dates=tuple(np.array(self.dates)[kept]),
            **{name: getattr(self, name)[kept] for name in columns},
        )

    @property
    def months(self) -> np.ndarray:
        """The month of each day, 0 to 11, shifted by half a year south of the equator."""
        shift = 6 if self.latitude_deg < 0 else 0
        return np.array([(date.month - 1 + shift) % 12 for date in self.dates])


@cache
def read_series(site: str) -> Series:
    """Read one file: day, month, year, lowest, highest, rain, ET0, under differing headings."""
    spec = importlib.util.find_spec("aquacrop")
    path = Path(spec.submodule_search_locations[0]) / "data" / f"{site}_climate.txt"
    rows = np.loadtxt(path, skiprows=1)
    dates = tuple(dt.date(int(year), int(month), int(day)) for day, month, year in rows[:, :3])
    return Series(site, LATITUDES[site], dates, *rows[:, 3:7].T)


def elsewhere(rain_mm: np.ndarray, seed: int) -> np.ndarray:
    """The rain of a garden some way from the gauge, by a seed.

    Each rain is larger or smaller by a lognormal factor of mean 1 (standard deviation 0.3 of its
    logarithm), and one in ten falls a day later.
    """
    random = np.random.default_rng(seed)
    factor = np.exp(random.normal(-(0.3**2) / 2, 0.3, rain_mm.size))
    here = rain_mm * factor
    late = (random.random(rain_mm.size) < 0.1) & (here > 0)
    late[-1] = False
    moved = np.where(late, here, 0.0)
    return here - moved + np.roll(moved, 1)
