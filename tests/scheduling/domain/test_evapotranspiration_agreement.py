"""Agreement with two independent open libraries (refet, pyet) on three real typical years."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pyet
import pytest
import refet

from scheduling.domain.air import mean_saturation_vapour_pressure, wind_at_2m
from scheduling.domain.evapotranspiration import (
    extraterrestrial_radiation,
    hargreaves,
    penman_monteith,
    tall_reference,
)
from scheduling.domain.humidity import vapour_pressure_from_dew_point
from tests.scheduling.domain.typical_years import YEARS, TypicalYear

ANEMOMETER_M = 10.0


def in_full(year: TypicalYear, compute=penman_monteith):
    return compute(
        year.tmin_c,
        year.tmax_c,
        vapour_pressure_from_dew_point(year.dew_point_c),
        year.solar_mj_m2,
        wind_at_2m(year.wind_m_s, ANEMOMETER_M),
        year.latitude_deg,
        year.day_of_year,
        year.elevation_m,
    )


def by_temperatures(year: TypicalYear):
    radiation = extraterrestrial_radiation(year.latitude_deg, year.day_of_year)
    return hargreaves(year.tmin_c, year.tmax_c, radiation)


def refet_of(year: TypicalYear) -> refet.Daily:
    """refet takes degrees, and the wind with its height."""
    return refet.Daily(
        tmin=year.tmin_c, tmax=year.tmax_c, tdew=year.dew_point_c, rs=year.solar_mj_m2,
        uz=year.wind_m_s, zw=ANEMOMETER_M, elev=year.elevation_m, lat=year.latitude_deg,
        doy=year.day_of_year, method="asce", rso_type="simple",
    )  # fmt: skip


def daily(year: TypicalYear, values) -> pd.Series:
    return pd.Series(values, index=pd.date_range("2021-01-01", periods=365))


@pytest.fixture(params=YEARS)
def year(request) -> TypicalYear:
    return YEARS[request.param]()


def test_the_files_are_read_as_degrees_and_metres_a_second(year):
    assert year.tmin_c.shape == (365,)
    assert (year.tmin_c <= year.tmax_c).all()
    assert (year.humidity_min_percent <= year.humidity_max_percent).all()
    assert 2 < year.wind_m_s.mean() < 9
    clear_sky = 0.8 * extraterrestrial_radiation(year.latitude_deg, year.day_of_year)
    assert 0.3 < year.solar_mj_m2.sum() / clear_sky.sum() < 0.9


def test_wind_at_2m_agrees_with_refet_at_any_height():
    heights_m = [0.5, 1.0, 2.0, 3.0, 6.0, 10.0, 30.0, 100.0]

    other = [refet.calcs.wind_height_adjust(5.0, height_m) for height_m in heights_m]

    assert wind_at_2m(5.0, heights_m) == pytest.approx(np.array(other), rel=1e-9)


def test_both_references_agree_with_refet(year):
    other = refet_of(year)

    assert in_full(year) == pytest.approx(np.maximum(other.eto(), 0), abs=0.02)
    assert in_full(year, tall_reference) == pytest.approx(np.maximum(other.etr(), 0), abs=0.03)


def test_penman_monteith_agrees_with_pyet(year):
    """pyet takes radians, and the wind at 2 m.

    On single days the mean dew point lies above what the two temperatures allow; pyet then counts
    a negative dryness, the standard none.
    """
    possible_kpa = mean_saturation_vapour_pressure(year.tmin_c, year.tmax_c)
    ea_kpa = np.minimum(vapour_pressure_from_dew_point(year.dew_point_c), possible_kpa)
    columns = {
        "rs": year.solar_mj_m2, "tmax": year.tmax_c, "tmin": year.tmin_c,
        "ea": ea_kpa,
    }  # fmt: skip
    other = pyet.pm_fao56(
        daily(year, (year.tmin_c + year.tmax_c) / 2),
        daily(year, wind_at_2m(year.wind_m_s, ANEMOMETER_M)),
        **{name: daily(year, values) for name, values in columns.items()},
        elevation=year.elevation_m,
        lat=np.radians(year.latitude_deg),
    )

    assert in_full(year) == pytest.approx(other.to_numpy(), abs=0.02)


def test_hargreaves_agrees_with_pyet_but_for_the_latent_heat(year):
    """pyet lets the latent heat change with the temperature, FAO-56 does not."""
    other = pyet.hargreaves(
        daily(year, (year.tmin_c + year.tmax_c) / 2),
        daily(year, year.tmax_c),
        daily(year, year.tmin_c),
        lat=np.radians(year.latitude_deg),
    )

    assert by_temperatures(year) == pytest.approx(np.maximum(other.to_numpy(), 0), abs=0.06)


# Mean in full, mean by temperatures, bias, RMSE, r2; then bias, RMSE, r2 of June to September.
# Measured before with a ten-line implementation of its own; our folding of Miami's hours into local
# days differs by up to 0.02.
MEASURED_BEFORE = {
    "Greensboro": (3.082, 3.093, 0.01, 0.62, 0.864, 0.20, 0.59, 0.803),
    "Miami": (4.318, 3.277, -1.04, 1.47, 0.346, -1.00, 1.46, 0.059),
    "Sand Point": (1.380, 0.961, -0.42, 0.61, 0.742, -0.43, 0.71, 0.589),
}


@pytest.mark.parametrize("name", YEARS)
def test_how_far_the_temperatures_alone_are_from_the_full_equation(name):
    year = YEARS[name]()
    full, plain = in_full(year), by_temperatures(year)

    found = (full.mean(), plain.mean(), *scores(plain, full))
    found += scores(plain[year.summer], full[year.summer])

    words = ("full", "plain", "bias", "rmse", "r2", "summer bias", "rmse", "r2")
    line = "".join(f" {word} {value:6.3f}" for word, value in zip(words, found, strict=True))
    print(f"\n{name:11}{line}")
    assert found == pytest.approx(MEASURED_BEFORE[name], abs=0.03)


def scores(plain, full) -> tuple[float, float, float]:
    difference = plain - full
    return (
        float(difference.mean()),
        float(np.sqrt(np.mean(difference**2))),
        float(np.corrcoef(plain, full)[0, 1] ** 2),
    )
