"""The ET0 of rows: the same as the domain's, by the best method, without a query a day."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.air import wind_at_2m
from scheduling.domain.evapotranspiration import (
    extraterrestrial_radiation,
    hargreaves,
    penman_monteith,
)
from scheduling.domain.humidity import vapour_pressure_from_dew_point
from scheduling.models import StationCalibration, WeatherDay
from scheduling.services.et0 import compute_et0
from tests import cast
from tests.scheduling.domain.typical_years import greensboro, miami
from tests.scheduling.services.typical_days import FULL, TEMPERATURES, make_station_of, rows_of

DAY = dt.date(2026, 6, 9)  # day 160 of its year, counted on a calendar


@pytest.fixture
def bare(company):
    """A station without any weather."""
    return cast.make_station()


def make_calibration(station, **changes):
    values = {
        "slope": 0.8, "offset_mm": 1.5, "days": 365, "first_date": dt.date(2021, 1, 1),
        "last_date": dt.date(2021, 12, 31), "bias_before_mm": -1.0, "rmse_before_mm": 1.5,
        "rmse_after_mm": 1.0, "computed_at": cast.NOW,
    }  # fmt: skip
    return StationCalibration.objects.create(station=station, **values | changes)


def test_real_days_get_the_full_equation_at_their_stations_place(company):
    year = miami()
    station = make_station_of(year, anemometer_height_m=6.0)
    days = rows_of(station, year)

    compute_et0(days)

    expected = penman_monteith(
        year.tmin_c,
        year.tmax_c,
        vapour_pressure_from_dew_point(year.dew_point_c),
        year.solar_mj_m2,
        wind_at_2m(year.wind_m_s, 6.0),
        year.latitude_deg,
        year.day_of_year,
        year.elevation_m,
    )
    assert [day.et0_mm for day in days] == pytest.approx(expected.tolist(), abs=5.1e-5)
    assert {day.et0_method for day in days} == {"penman_monteith"}
    assert not WeatherDay.objects.exists()


def test_each_station_has_its_own_place_and_calibration(company):
    near, far = make_station_of(greensboro()), make_station_of(miami(), code="ZZTEST00002")
    make_calibration(far)
    days = [
        WeatherDay(station=station, date=DAY, tmin_c=20.0, tmax_c=35.0) for station in (near, far)
    ]

    compute_et0(days)

    plain = [
        hargreaves(20.0, 35.0, extraterrestrial_radiation(station.latitude, 160))
        for station in (near, far)
    ]
    assert [day.et0_method for day in days] == ["hargreaves", "calibrated"]
    expected = [float(plain[0]), float(1.5 + 0.8 * plain[1])]
    assert [day.et0_mm for day in days] == pytest.approx(expected, abs=5.1e-5)


@pytest.mark.parametrize(
    ("humidity", "method"),
    [
        ({"dew_point_c": 18.0}, "penman_monteith"),
        ({"humidity_min_percent": 30.0, "humidity_max_percent": 90.0}, "penman_monteith"),
        ({"humidity_max_percent": 90.0}, "penman_monteith"),
        ({"humidity_percent": 60.0}, "penman_monteith"),
        ({"humidity_min_percent": 30.0}, "hargreaves"),
        ({}, "hargreaves"),
    ],
)
def test_any_humidity_that_says_enough_serves(bare, humidity, method):
    day = WeatherDay(station=bare, date=DAY, tmin_c=20.0, tmax_c=35.0, wind_m_s=3.0, **humidity)

    compute_et0([day])

    assert day.et0_method == method
    assert 4 < day.et0_mm < 14


def test_a_day_that_lost_its_temperatures_loses_its_et0(bare):
    day = WeatherDay(
        station=bare, date=DAY, tmax_c=35.0, wind_m_s=3.0, dew_point_c=10.0,
        et0_mm=5.0, et0_method="hargreaves",
    )  # fmt: skip

    compute_et0([day])

    assert (day.et0_mm, day.et0_method) == (None, "")


def test_computing_again_changes_nothing(bare):
    days = rows_of(bare, miami(), names=TEMPERATURES)
    compute_et0(days)
    before = [(day.et0_mm, day.et0_method) for day in days]

    compute_et0(days)

    assert [(day.et0_mm, day.et0_method) for day in days] == before


def test_what_is_stored_is_a_plain_number(bare):
    day = WeatherDay(station=bare, date=DAY, tmin_c=20.0, tmax_c=35.0)

    compute_et0([day])
    day.save()

    stored = WeatherDay.objects.get()
    assert (stored.et0_mm, stored.et0_method) == (day.et0_mm, "hargreaves")
    assert type(day.et0_mm) is float
    assert not isinstance(day.et0_method, np.str_)


def test_thousands_of_days_cost_one_query_and_rain_alone_none(bare, django_assert_num_queries):
    days = rows_of(bare, miami(), names=FULL, years=6)
    with django_assert_num_queries(1):
        compute_et0(days)

    dry = [WeatherDay(station=bare, date=DAY, rain_mm=3.0)]
    with django_assert_num_queries(0):
        compute_et0(dry)
        compute_et0([])

    assert (dry[0].et0_mm, dry[0].et0_method) == (None, "")


def test_crossed_temperatures_are_refused_and_no_day_is_changed(bare):
    days = [
        WeatherDay(station=bare, date=DAY, tmin_c=low, tmax_c=20.0, et0_mm=1.0)
        for low in (10.0, 21.0)
    ]

    with pytest.raises(InvalidInputError) as refusal:
        compute_et0(days)

    assert refusal.value.field == "tmax_c"
    assert [day.et0_mm for day in days] == [1.0, 1.0]
