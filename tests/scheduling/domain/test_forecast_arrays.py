from __future__ import annotations

import datetime as dt
import zoneinfo

import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.forecast_arrays import read_arrays
from scheduling.domain.forecast_values import ForecastValues
from tests.scheduling.forecast_files import arrays

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)


def read(document):
    return read_arrays(document, CHICAGO, retrieved_at=NOW)


def test_reads_a_whole_document_from_today_on():
    reading = read(arrays())

    assert reading.issued_at == NOW
    assert reading.problems == ()
    assert reading.days == (
        ForecastValues(
            dt.date(2026, 6, 10), 15.0, 30.0, 0.0, 5.0, solar_mj_m2=25.0, provider_et0_mm=6.1
        ),
        ForecastValues(
            dt.date(2026, 6, 11), 16.0, 31.5, 12.5, 80.0, solar_mj_m2=18.0, provider_et0_mm=4.2
        ),
        ForecastValues(dt.date(2026, 6, 12), rain_mm=4.0),
    )


def test_the_highest_wind_is_not_taken_for_the_mean_one():
    document = arrays()
    document["daily"]["wind_speed_10m_mean"] = [10.8, 18.0, 14.4, 14.4]
    document["daily_units"]["wind_speed_10m_mean"] = "km/h"

    assert read(arrays()).days[0].wind_m_s is None
    assert read(document).days[0].wind_m_s == pytest.approx(5.0)


def test_converts_what_the_units_say():
    document = arrays()
    document["daily_units"] |= {"temperature_2m_max": "°F", "precipitation_sum": "inch"}
    document["daily"] |= {
        "temperature_2m_max": [80, 86, 90, None], "precipitation_sum": [0, 0, 0.5, 1],
    }  # fmt: skip

    days = read(document).days
    assert days[0].tmax_c == pytest.approx(30.0)
    assert days[1].rain_mm == pytest.approx(12.7)  # the inch is 25.4 mm (NIST SP 811)


@pytest.mark.parametrize("unit", [None, "K/m", 5, "mm"])
def test_an_array_without_a_known_unit_is_left_out_and_named(unit):
    document = arrays()
    document["daily_units"]["temperature_2m_max"] = unit

    reading = read(document)
    assert [day.tmax_c for day in reading.days] == [None, None, None]
    assert reading.problems[0].startswith("temperature_2m_max: the unit ")


def test_a_missing_array_is_named_if_it_matters():
    document = arrays()
    del document["daily"]["precipitation_sum"]
    del document["daily"]["shortwave_radiation_sum"]

    assert read(document).problems == ("precipitation_sum: is missing",)


def test_arrays_of_unequal_length_are_refused():
    document = arrays()
    document["daily"]["precipitation_sum"].pop()

    with pytest.raises(InvalidInputError, match="4 days but 3 values of precipitation_sum") as no:
        read(document)
    assert no.value.code == "forecast-lengths"


@pytest.mark.parametrize("value", ["12", True, -1, 5000, {}, float("inf"), float("nan")])
def test_a_value_that_cannot_be_right_is_left_out_and_named(value):
    document = arrays()
    document["daily"]["precipitation_sum"][2] = value

    reading = read(document)
    assert [day.rain_mm for day in reading.days] == [0.0, None, 4.0]
    assert reading.problems[0].startswith("precipitation_sum 2026-06-11: ")


@pytest.mark.parametrize("date", ["2026-13-01", None, 20260611, "2026-06-10", "tomorrow"])
def test_a_day_that_is_none_or_comes_twice_is_left_out(date):
    document = arrays()
    document["daily"]["time"][2] = date

    reading = read(document)
    assert [day.date.day for day in reading.days] == [10, 12]
    assert reading.days[0].tmax_c == 30.0
    assert reading.problems[0].startswith("time: ")


@pytest.mark.parametrize("clock", [
    {"timezone": "GMT", "utc_offset_seconds": 0}, {"timezone": "America/Denver"},
    {"timezone": None, "utc_offset_seconds": 0}, {"timezone": "Nowhere/At_all"} ,
    {"timezone": "../../etc/passwd", "utc_offset_seconds": "x"},
    {"timezone": None, "utc_offset_seconds": [3600]}, {"timezone": None, "utc_offset_seconds": {}},
])  # fmt: skip
def test_days_of_another_clock_are_refused(clock):
    document = arrays() | {"utc_offset_seconds": 3600} | clock

    with pytest.raises(InvalidInputError) as refusal:
        read(document)
    assert refusal.value.code == "forecast-zone"


def test_another_name_of_the_same_clock_will_do():
    assert read(arrays() | {"timezone": "US/Central"}).days
    assert read(arrays() | {"timezone": None}).days


@pytest.mark.parametrize("document", [
    None, [], {}, {"daily": []}, {"daily": {}, "daily_units": {}},
    {"daily": {"time": []}, "daily_units": {}}, {"daily": {"time": "2026"}, "daily_units": {}},
    {"daily": {"time": ["2026-06-10"] * 401}, "daily_units": {}},
])  # fmt: skip
def test_another_shape_is_refused_by_name(document):
    with pytest.raises(InvalidInputError) as refusal:
        read(document)
    assert refusal.value.code == "forecast-shape"


def test_days_without_any_value_are_refused():
    with pytest.raises(InvalidInputError) as refusal:
        read({"daily": {"time": ["2026-06-10"]}, "daily_units": {}})
    assert refusal.value.code == "forecast-empty"
