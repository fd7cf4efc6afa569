"""The choice of method for a day, by what was measured on it."""

from __future__ import annotations

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.air import wind_at_2m
from scheduling.domain.climate import LARGEST_ET0_MM
from scheduling.domain.et0_methods import Et0Method, StationDays, best_et0
from scheduling.domain.evapotranspiration import hargreaves, penman_monteith
from scheduling.domain.humidity import vapour_pressure_from_dew_point
from scheduling.domain.sunlight import (
    clear_sky_radiation,
    extraterrestrial_radiation,
    solar_from_temperatures,
)

NONE = np.nan
RADIATION = extraterrestrial_radiation(40.0, 196)
PLACE = {
    "latitude_deg": 40.0, "day_of_year": 196, "elevation_m": 500.0, "anemometer_height_m": 10.0,
}  # fmt: skip


def choose(tmin_c=15.0, tmax_c=30.0, **measured):
    columns = PLACE | {"tmin_c": tmin_c, "tmax_c": tmax_c} | measured
    arrays = np.broadcast_arrays(*(np.atleast_1d(value) for value in columns.values()))
    et0, methods = best_et0(StationDays(**dict(zip(columns, arrays, strict=True))))
    return et0.tolist(), methods.tolist()


def in_full(rs_mj, wind_m_s=4.0, tmin_c=15.0, tmax_c=30.0):
    ea_kpa = vapour_pressure_from_dew_point(14.0)
    u2_m_s = wind_at_2m(wind_m_s, 10.0)
    return penman_monteith(tmin_c, tmax_c, ea_kpa, rs_mj, u2_m_s, 40.0, 196, 500.0)


def test_a_full_day_is_computed_in_full():
    et0, methods = choose(dew_point_c=14.0, wind_m_s=4.0, solar_mj_m2=24.0)

    assert methods == [Et0Method.PENMAN_MONTEITH]
    assert et0 == pytest.approx([in_full(24.0)])


def test_a_storm_in_a_desert_that_no_climate_would_take_is_left_to_the_temperatures():
    # Each value is in its range, but together they give 42 mm a day: a unit was mistaken.
    desert = {"tmin_c": 30.0, "tmax_c": 50.0, "humidity_percent": 5.0, "solar_mj_m2": 25.0}

    believable, _ = choose(**desert, wind_m_s=30.0)
    et0, methods = choose(**desert, wind_m_s=50.0)

    assert 30.0 < believable[0] < LARGEST_ET0_MM
    assert methods == [Et0Method.HARGREAVES]
    assert et0 == pytest.approx([hargreaves(30.0, 50.0, RADIATION)])


def test_the_sun_is_judged_by_the_temperatures_where_it_was_not_measured():
    et0, methods = choose(dew_point_c=14.0, wind_m_s=4.0)

    assert methods == [Et0Method.PENMAN_MONTEITH]
    assert et0 == pytest.approx([in_full(solar_from_temperatures(15.0, 30.0, RADIATION))])


def test_the_sun_is_never_judged_brighter_than_a_clear_sky():
    # arithmetic: 0.16 sqrt(28) = 0.85 of the light above the air, a clear sky here 0.76
    et0, _ = choose(5.0, 33.0, dew_point_c=14.0, wind_m_s=4.0)

    clear_mj = clear_sky_radiation(RADIATION, 500.0)
    assert et0 == pytest.approx([in_full(clear_mj, tmin_c=5.0, tmax_c=33.0)])


@pytest.mark.parametrize(
    "lacking",
    [
        {"wind_m_s": 4.0, "solar_mj_m2": 24.0},  # no humidity
        {"dew_point_c": 14.0, "solar_mj_m2": 24.0},  # no wind
        {"dew_point_c": 31.0, "wind_m_s": 4.0},  # no humidity that could be
        {},
    ],
)
def test_without_humidity_or_wind_the_temperatures_decide_calibrated_if_they_are(lacking):
    plain = hargreaves(15.0, 30.0, RADIATION)

    assert choose(**lacking) == (pytest.approx([plain]), [Et0Method.HARGREAVES])
    et0, methods = choose(**lacking, slope=0.8, offset_mm=1.5)
    assert (et0, methods) == (pytest.approx([1.5 + 0.8 * plain]), [Et0Method.CALIBRATED])


def test_a_calibration_does_not_touch_a_full_day():
    measured = {"dew_point_c": 14.0, "wind_m_s": 4.0, "solar_mj_m2": 24.0}

    assert choose(**measured, slope=0.5, offset_mm=9.0) == choose(**measured)


def test_without_both_temperatures_there_is_none():
    et0, methods = choose([NONE, 15.0, NONE], [30.0, NONE, NONE], dew_point_c=14.0, wind_m_s=4.0,
                          slope=0.8, offset_mm=1.5)  # fmt: skip

    assert np.isnan(et0).all()
    assert methods == ["", "", ""]


def test_each_day_of_many_is_chosen_for_by_itself():
    days = {
        "tmin_c": [15.0, 15.0, 15.0, NONE], "tmax_c": 30.0, "wind_m_s": [4.0, NONE, NONE, 4.0],
        "dew_point_c": 14.0, "solar_mj_m2": [24.0, 24.0, NONE, 24.0],
        "slope": [0.8, 0.8, NONE, 0.8], "offset_mm": [1.5, 1.5, NONE, 1.5],
    }  # fmt: skip

    et0, methods = choose(**days)

    assert methods == ["penman_monteith", "calibrated", "hargreaves", ""]
    plain = hargreaves(15.0, 30.0, RADIATION)
    expected = [in_full(24.0), 1.5 + 0.8 * plain, plain, NONE]
    assert et0 == pytest.approx(expected, nan_ok=True)


@pytest.mark.parametrize(
    ("measured", "field"),
    [
        ({"tmax_c": 10.0}, "tmax_c"),
        ({"humidity_percent": 130.0, "wind_m_s": 2.0}, "humidity_percent"),
        ({"dew_point_c": 14.0, "wind_m_s": 400.0}, "wind_m_s"),
    ],
)
def test_refuses_what_cannot_be_and_names_it(measured, field):
    with pytest.raises(InvalidInputError) as refusal:
        choose(**measured)

    assert refusal.value.field == field
