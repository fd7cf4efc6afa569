"""Our Hargreaves against the ET column of long daily records that the aquacrop package ships.

`pytest -s` prints the table. The package says nothing of how its column was made.
"""

from __future__ import annotations

import numpy as np
import pytest

from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from tests.scheduling.domain.typical_years import package_file

# Latitude (Champion's is shipped in CP.st, the others are of the place names), then what was
# measured before with an implementation of its own: mean of the column, bias, RMSE, r2, total over
# total, and r2 of seven-day means.
SITES = {
    "cordoba": (-31.4, 4.72, -0.55, 1.03, 0.835, 0.88, 0.940),
    "hyderabad": (17.38, 4.57, 0.41, 0.73, 0.825, 1.09, 0.913),
    "tunis": (36.8, 3.63, -0.16, 0.36, 0.975, 0.96, 0.988),
    "champion": (40.40, 3.73, -0.43, 0.74, 0.927, 0.89, 0.963),
    "brussels": (50.80, 1.70, 0.25, 0.53, 0.901, 1.14, 0.959),
    "cambridge": (52.2, 2.25, -0.27, 0.57, 0.888, 0.88, 0.958),
    "lincolnshire": (53.0, 2.17, -0.38, 0.63, 0.883, 0.83, 0.967),
}


def record(site: str) -> np.ndarray:
    """Columns day, month, year, lowest, highest, rain, ET."""
    return np.loadtxt(package_file("aquacrop", "data", f"{site}_climate.txt"), skiprows=1)


def days_of_year(table: np.ndarray) -> np.ndarray:
    day, month, year = table[:, :3].astype(int).T
    text = [f"{y:04}-{m:02}-{d:02}" for y, m, d in zip(year, month, day, strict=True)]
    dates = np.array(text, dtype="datetime64[D]")
    return (dates - dates.astype("datetime64[Y]")).astype(int) + 1


def weekly(values: np.ndarray) -> np.ndarray:
    whole = values.size // 7 * 7
    return values[:whole].reshape(-1, 7).mean(axis=1)


def r2(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.corrcoef(one, other)[0, 1] ** 2)


@pytest.mark.parametrize("site", SITES)
def test_the_temperatures_alone_come_near_the_shipped_column(site):
    latitude_deg, *measured_before = SITES[site]
    table = record(site)
    low, high, shipped = table[:, 3], table[:, 4], table[:, 6]

    ours = hargreaves(low, high, extraterrestrial_radiation(latitude_deg, days_of_year(table)))

    difference = ours - shipped
    total, week = ours.sum() / shipped.sum(), r2(weekly(ours), weekly(shipped))
    found = [shipped.mean(), difference.mean(), np.sqrt(np.mean(difference**2)),
             r2(ours, shipped), total, week]  # fmt: skip
    words = ("mean", "bias", "rmse", "r2", "total", "7-day r2")
    line = "".join(f" {word} {value:6.3f}" for word, value in zip(words, found, strict=True))
    print(f"\n{site:12} {shipped.size:6} days{line}")
    assert found == pytest.approx(measured_before, abs=0.02)
    assert week >= 0.90
    assert abs(total - 1) <= 0.175


def test_the_wrong_hemisphere_shows():
    table = record("champion")
    days = days_of_year(table)

    ours = hargreaves(table[:, 3], table[:, 4], extraterrestrial_radiation(-40.4, days))

    assert r2(ours, table[:, 6]) < 0.6
