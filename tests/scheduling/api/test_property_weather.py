"""The weather of a property over the API."""

from __future__ import annotations

import datetime as dt

import pytest

from tests import cast
from tests.problems import pointers, row_counts
from tests.scheduling.weather_rows import (
    YESTERDAY,
    clear,
    make_days,
    make_forecast,
    make_near_station,
)

pytestmark = pytest.mark.usefixtures("visit")

HOLE = YESTERDAY - dt.timedelta(days=10)
GAP = YESTERDAY - dt.timedelta(days=20)


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN", north_km=10, elevation_m=1172.0)
    make_days(station, count=1500)
    return station


@pytest.fixture
def neighbour(garden):
    station = make_near_station("ZZNEAR", north_km=30)
    make_days(station, count=200)
    return station


def address(property_, query="units=metric"):
    return f"/api/v1/properties/{property_.pk}/weather?{query}"


def day_of(content, date):
    (day,) = [each for each in content["days"] if each["date"] == str(date)]
    return day


def test_the_days_carry_their_values_and_where_they_come_from(
    technician_api, garden, main, neighbour
):
    stored = main.days.get(date=HOLE)
    clear(main, HOLE)
    for station in (main, neighbour):
        clear(station, GAP)

    content = technician_api.get(address(garden)).json()

    assert (len(content["days"]), content["days_filled"], content["days_missing"]) == (60, 1, 1)
    assert (content["days"][0]["date"], content["days"][-1]["date"]) == (
        str(YESTERDAY - dt.timedelta(days=59)), str(YESTERDAY),
    )  # fmt: skip
    hole, gap, plain = (day_of(content, date) for date in (HOLE, GAP, YESTERDAY))
    assert hole["tmin"] == {"value": pytest.approx(stored.tmin_c), "unit": "degC"}
    assert hole["et0"] == {"value": pytest.approx(stored.et0_mm), "unit": "mm"}
    assert (set(hole["marks"].values()), hole["filled_from"]) == ({"filled"}, ["ZZNEAR"])
    assert (gap["rain"], gap["et0"], set(gap["marks"].values())) == (None, None, {"gap"})
    assert (set(plain["marks"].values()), plain["filled_from"]) == ({"observed"}, [])


def test_the_stations_are_named_with_their_distance(technician_api, garden, main, neighbour):
    garden.elevation_m = 1072.0
    garden.save()
    clear(main, HOLE)

    content = technician_api.get(address(garden)).json()

    assert (content["station"]["code"], content["station"]["name"]) == ("ZZMAIN", "Station ZZMAIN")
    assert content["station"]["distance"] == {"value": pytest.approx(10_000, rel=1e-3), "unit": "m"}
    # 100 m of height count as 10 km
    assert content["station"]["effective_distance"]["value"] == pytest.approx(20_000, rel=1e-3)
    assert [each["code"] for each in content["helpers"]] == ["ZZNEAR"]


# 2.5 degC are 36.5 degF.
@pytest.mark.parametrize(
    ("system", "cold", "words"),
    [("us", {"value": 36.5, "unit": "degF"}, "By the forecast June 11 falls to 36 °F"),
     ("metric", {"value": 2.5, "unit": "degC"}, "By the forecast 11 June falls to 2 °C")],
)  # fmt: skip
def test_the_forecast_and_its_facts_come_in_the_units_asked_for(
    technician_api, garden, main, system, cold, words
):
    make_forecast(
        main, {"tmin_c": 9.0, "rain_probability_percent": 40.0}, {"tmin_c": 2.5, "rain_mm": 3.0}
    )

    content = technician_api.get(address(garden, f"units={system}")).json()

    assert [day["date"] for day in content["forecast"]] == ["2026-06-10", "2026-06-11"]
    assert content["forecast"][1]["tmin"] == cold
    assert content["forecast"][0]["rain_probability_percent"] == 40.0
    assert content["forecast"][0]["rain"] is None
    (frost,) = content["facts"]
    assert (frost["code"], frost["first_date"], frost["temperature"]) == (
        "frost-ahead", "2026-06-11", cold,
    )  # fmt: skip
    assert frost["sentence"].startswith(words)
    assert (frost["rain"], frost["resume_date"]) == (None, None)
    assert (frost["days"], frost["is_forecast"], frost["days_forecast"]) == (1, True, 1)


def test_a_soaking_rain_tells_each_zone_until_when_to_skip(technician_api, garden, main, zone):
    cast.make_heads(zone)
    main.days.filter(date=YESTERDAY).update(rain_mm=50.0)

    (told,) = technician_api.get(address(garden)).json()["zones"]

    assert (told["zone"], told["number"]) == (str(zone.pk), 1)
    soaking = told["soaking_rain"]
    assert (soaking["code"], soaking["last_date"]) == ("soaking-rain", str(YESTERDAY))
    assert soaking["rain"]["value"] >= 50.0
    skip = (dt.date.fromisoformat(soaking["resume_date"]) - YESTERDAY).days - 1
    assert skip >= 1
    assert "skip watering until" in soaking["sentence"]
    assert (soaking["is_forecast"], soaking["days_unknown"]) == (False, 0)
    assert soaking["forecast_rain"] == {"value": 0.0, "unit": "mm"}


def test_rain_that_fell_and_rain_to_come_are_told_apart(technician_api, garden, main, zone):
    cast.make_heads(zone)
    main.days.update(rain_mm=0.0)
    main.days.filter(date=YESTERDAY).update(rain_mm=8.0)
    make_forecast(main, {"rain_mm": 40.0})

    (told,) = technician_api.get(address(garden)).json()["zones"]

    soaking = told["soaking_rain"]
    assert (soaking["is_forecast"], soaking["days_forecast"]) == (True, 1)
    assert soaking["forecast_rain"] == {"value": 40.0, "unit": "mm"}
    assert soaking["sentence"].startswith("By the forecast about 40 mm of rain comes on 10 June")


def test_who_may_read_and_nothing_is_written(callers, garden, main):
    before = row_counts()

    answers = [api.get(address(garden)).status_code for api in callers]

    assert answers == [200, 200, 404, 401]
    assert row_counts() == before


@pytest.mark.parametrize(("lack", "code"), [("station", "no-station"), ("place", "no-position")])
def test_without_weather_or_place_it_is_refused_with_the_cure(technician_api, garden, lack, code):
    if lack == "place":
        garden.latitude = garden.longitude = None
        garden.save()

    answer = technician_api.get(address(garden))

    assert (answer.status_code, pointers(answer)) == (409, ["/latitude"])
    assert answer.json()["code"] == code


def test_unknown_units_are_refused(technician_api, garden, main):
    answer = technician_api.get(address(garden, "units=imperial"))

    assert (answer.status_code, pointers(answer)) == (400, ["/units"])


def test_many_stations_and_zones_take_as_many_queries_as_few(
    technician_api, garden, main, neighbour, zone, django_assert_num_queries
):
    def grow(number):
        cast.make_heads(zone)
        cast.make_heads(cast.make_zone(zone.controller, number=number + 10))
        make_days(make_near_station(f"ZZ{number}", north_km=40 + number), count=100)

    clear(main, HOLE)
    grow(0)
    # token, company of the scope, property, company of the units, stations, days, days of the
    # neighbours, forecast, maxima, and the season's stations, days, zones, heads, buckets,
    # emitters, ..., settings
    queries = 19
    with django_assert_num_queries(queries):
        technician_api.get(address(garden))
    for number in range(1, 6):
        grow(number)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(address(garden)).json()["zones"]) == 7
