"""A station's usual year and its stored days over the API."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import WeatherDay
from scheduling.selectors.weather import usual_year_of
from tests import cast
from tests.problems import pointers, row_counts

MM = {"us": ("in", 25.4), "metric": ("mm", 1.0)}


def address(station, what, query=""):
    return f"/api/v1/weather-stations/{station.pk}/{what}?{query}"


@pytest.mark.parametrize("system", MM)
def test_the_usual_year_is_the_domains_in_the_units_asked_for(technician_api, station, system):
    unit, mm = MM[system]
    months, days = usual_year_of(station)

    content = technician_api.get(address(station, "climate", f"units={system}")).json()

    for name, usual in (("et0", days.et0), ("effective_rain", days.effective_rain)):
        for part in ("mean", "low", "high"):
            sent = content["daily"][name][part]
            assert (sent["unit"], len(sent["values"])) == (unit, 366)
            assert sent["values"] == pytest.approx(getattr(usual, part) / mm, rel=1e-5)
    july = content["monthly"]["months"][6]
    assert july["month"] == 7
    assert july["et0_per_day"]["value"] == pytest.approx(months.et0_mm_day[6] / mm, rel=1e-5)
    assert july["effective_rain"]["value"] == pytest.approx(
        months.effective_rain_mm[6] / mm, rel=1e-5
    )
    assert (
        july["tmax"]
        == {
            "us": {"value": pytest.approx(32 * 9 / 5 + 32), "unit": "degF"},
            "metric": {"value": 32, "unit": "degC"},
        }[system]
    )
    for part in ("daily", "monthly"):
        told = {name: content[part][name] for name in ("first_date", "years_used", "few_years")}
        assert told == {"first_date": "2015-01-01", "years_used": 6, "few_years": False}


def test_few_years_are_told_and_unknown_days_are_null(technician_api, station):
    WeatherDay.objects.filter(date__gte=dt.date(2017, 1, 1)).delete()
    WeatherDay.objects.filter(date__month__in=(4, 5, 6)).exclude(date__day=30).update(et0_mm=None)
    WeatherDay.objects.filter(date__month=5).update(et0_mm=None)

    content = technician_api.get(address(station, "climate")).json()

    assert content["daily"]["few_years"]
    assert content["daily"]["et0"]["mean"]["values"][135] is None  # 15 May
    # Without any ET0 of the season nobody knows what of its rain dries off.
    assert content["daily"]["effective_rain"]["mean"]["values"][135] is None
    assert content["daily"]["effective_rain"]["mean"]["values"][75] is not None  # 16 March


def test_a_station_without_weather_refuses_with_the_cure(technician_api, company):
    bare = cast.make_station()

    answer = technician_api.get(address(bare, "climate"))

    assert (answer.status_code, pointers(answer)) == (409, ["/station"])
    assert answer.json()["errors"][0]["remedy"]


def test_the_stored_days_come_in_their_order(technician_api, station):
    query = "first=2020-12-30&last=2021-01-05&units=metric"

    days = technician_api.get(address(station, "weather", query)).json()

    assert [day["date"] for day in days] == ["2020-12-30", "2020-12-31"]
    stored = WeatherDay.objects.get(date=dt.date(2020, 12, 31))
    assert days[1]["et0"] == {"value": pytest.approx(stored.et0_mm, rel=1e-5), "unit": "mm"}
    assert days[1]["et0_method"] == "hargreaves"


@pytest.mark.parametrize(
    ("query", "where"),
    [
        ("", ["/first", "/last"]),
        ("first=2020-01-01", ["/last"]),
        ("first=2020-01-01&last=soon", ["/last"]),
        ("first=2020-01-02&last=2020-01-01", ["/last"]),
        ("first=2020-01-01&last=2021-01-01", ["/last"]),
    ],
)
def test_a_span_that_cannot_be_is_refused(technician_api, station, query, where):
    answer = technician_api.get(address(station, "weather", query))

    assert (answer.status_code, pointers(answer)) == (400, where)


def test_a_whole_year_is_one_answer(technician_api, station):
    query = "first=2020-01-01&last=2020-12-31"

    assert len(technician_api.get(address(station, "weather", query)).json()) == 366


@pytest.mark.parametrize("what", ["climate", "weather"])
def test_staff_may_read_strangers_may_not_and_nothing_is_written(callers, station, what):
    before = row_counts()
    query = "first=2020-01-01&last=2020-01-02"

    answers = [api.get(address(station, what, query)).status_code for api in callers]

    assert answers == [200, 200, 200, 401]
    assert {api.post(address(station, what)).status_code for api in callers[:3]} <= {403, 405}
    assert row_counts() == before


@pytest.mark.parametrize(("what", "queries"), [("climate", 4), ("weather", 4)])
def test_many_days_take_as_many_queries_as_few(
    technician_api, company, what, queries, django_assert_num_queries
):
    small = cast.make_station()
    cast.make_weather(small, years=1)
    large = cast.make_station(code="ZZTEST00002")
    cast.make_weather(large, years=3)
    for station, last in ((small, "2015-01-02"), (large, "2015-12-31")):
        query = f"first=2015-01-01&last={last}"
        with django_assert_num_queries(queries):  # token, company, station, days
            technician_api.get(address(station, what, query))
