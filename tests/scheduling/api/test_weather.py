"""Stations and their days over the API."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import WeatherDay, WeatherStation
from tests import cast
from tests.problems import pointers, row_counts

STATIONS = "/api/v1/weather-stations"
DAYS = "/api/v1/weather-days"
STATION = {
    "code": "ZZTEST00007", "name": "Mill", "latitude": 40.1, "longitude": -101.2,
    "elevation": {"value": 3517, "unit": "ft"}, "anemometer_height": {"value": 6.5, "unit": "ft"},
}  # fmt: skip


@pytest.fixture
def bare(company):
    return cast.make_station()


def test_a_station_comes_back_as_it_was_registered(office_api, technician_api):
    made = office_api.post(STATIONS, STATION)

    assert made.status_code == 201
    found = technician_api.get(f"{STATIONS}/{made.json()['id']}?units=metric").json()
    assert found.items() >= STATION.items()
    stored = WeatherStation.objects.get()
    assert stored.elevation_m == pytest.approx(3517 * 0.3048)
    assert stored.anemometer_height_m == pytest.approx(6.5 * 0.3048)
    assert technician_api.get(f"{STATIONS}?code=ZZTEST00007").json()["results"] == [found]


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"latitude": 90.1}, "/latitude"),
        ({"longitude": -180.5}, "/longitude"),
        ({"latitude": "north"}, "/latitude"),
        ({"elevation": {"value": 9, "unit": "km"}}, "/elevation"),
        ({"elevation": {"value": 30000, "unit": "ft"}}, "/elevation"),
        ({"anemometer_height": {"value": 0.4, "unit": "m"}}, "/anemometer_height"),
        ({"code": ""}, "/code"),
    ],
)
def test_a_station_that_cannot_be_is_refused(office_api, changes, where):
    before = row_counts()

    answer = office_api.post(STATIONS, {**STATION, **changes})

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_a_station_measures_its_wind_at_ten_metres_if_nothing_is_said(office_api):
    sent = {name: value for name, value in STATION.items() if name != "anemometer_height"}

    made = office_api.post(f"{STATIONS}?units=metric", sent)

    assert made.json()["anemometer_height"] == {"value": 10, "unit": "m"}


def test_a_code_is_registered_once(office_api, bare):
    answer = office_api.post(STATIONS, {**STATION, "code": bare.code})

    assert (answer.status_code, pointers(answer)) == (400, ["/code"])


# 68 degF are 20 degC, 95 degF are 35 degC, 0.5 in are 12.7 mm.
def test_a_day_by_hand_is_converted_and_gets_its_et0(office_api, bare):
    sent = {
        "station": str(bare.pk), "date": "2026-06-09", "tmin": {"value": 68, "unit": "degF"},
        "tmax": {"value": 95, "unit": "degF"}, "rain": {"value": 0.5, "unit": "in"},
    }  # fmt: skip

    metric = office_api.post(f"{DAYS}?units=metric", sent)

    assert metric.status_code == 201
    day = WeatherDay.objects.get()
    assert (day.tmin_c, day.tmax_c, day.rain_mm) == pytest.approx((20.0, 35.0, 12.7))
    assert metric.json()["tmax"] == {"value": 35, "unit": "degC"}
    assert metric.json()["et0"] == {"value": pytest.approx(day.et0_mm), "unit": "mm"}
    customary = office_api.get(f"{DAYS}/{day.pk}?units=us").json()
    assert customary["tmin"] == {"value": 68, "unit": "degF"}
    assert customary["et0"] == {"value": pytest.approx(day.et0_mm / 25.4, rel=1e-5), "unit": "in"}


@pytest.mark.parametrize(
    ("changes", "status", "where"),
    [
        ({"date": "2026-06-12"}, 400, "/date"),
        ({"date": "1749-12-31"}, 400, "/date"),
        ({"tmin": None, "tmax": None}, 400, "/tmin"),
        ({"date": "2026-06-31"}, 400, "/date"),
        ({"tmin": {"value": 36, "unit": "degC"}}, 400, "/tmax"),
        ({"tmax": {"value": 95, "unit": "degC"}}, 400, "/tmax"),
        ({"rain": {"value": -1, "unit": "mm"}}, 400, "/rain"),
        ({"humidity": 4}, 400, "/humidity"),
        ({"et0": {"value": 5, "unit": "mm"}}, 400, "/et0"),
        ({"date": "2026-06-08"}, 409, "/date"),
    ],
)
def test_a_day_that_cannot_be_is_refused(office_api, bare, changes, status, where):
    WeatherDay.objects.create(station=bare, date=dt.date(2026, 6, 8))
    sent = {
        "station": str(bare.pk), "date": "2026-06-09", "tmin": {"value": 20, "unit": "degC"},
        "tmax": {"value": 35, "unit": "degC"},
    }  # fmt: skip
    before = row_counts()

    answer = office_api.post(DAYS, {**sent, **changes})

    assert (answer.status_code, pointers(answer)) == (status, [where])
    assert row_counts() == before


def test_who_may_register_and_read(technician_api, anonymous_api, bare):
    assert technician_api.post(STATIONS, STATION).status_code == 403
    assert technician_api.post(DAYS, {}).status_code == 403
    assert technician_api.get(DAYS).status_code == 200
    assert {anonymous_api.get(url).status_code for url in (STATIONS, DAYS)} == {401}
    assert WeatherStation.objects.get() == bare


def test_days_are_found_by_station_and_range(office_api, station):
    query = f"station={station.pk}&date__gte=2020-12-30&date__lte=2020-12-31"

    found = office_api.get(f"{DAYS}?{query}").json()["results"]

    assert [day["date"] for day in found] == ["2020-12-31", "2020-12-30"]


@pytest.mark.parametrize("address", [STATIONS, DAYS])
def test_the_lists_take_as_many_queries_for_many_as_for_one(
    office_api, bare, address, django_assert_num_queries
):
    WeatherDay.objects.create(station=bare, date=dt.date(2025, 1, 1))
    queries = 3  # token, units of the company, rows
    with django_assert_num_queries(queries):
        office_api.get(address)
    for number in range(10, 19):
        other = cast.make_station(code=f"ZZTEST000{number}")
        WeatherDay.objects.create(station=other, date=dt.date(2025, 1, 1))

    with django_assert_num_queries(queries):
        assert len(office_api.get(address).json()["results"]) == 10
