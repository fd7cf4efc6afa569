"""The water account of a zone over the API."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import WeatherDay
from tests import cast
from tests.problems import pointers, row_counts
from tests.scheduling.selectors.test_water_accounts import set_down
from tests.scheduling.weather_rows import make_days, make_near_station

LISTS = {
    "et0", "rain", "need", "effective_rain", "gross", "uneven_loss", "runoff", "drained_rain",
    "drained_irrigation", "stored", "deficit", "limit",
}  # fmt: skip


@pytest.fixture
def tested(visit, zone):
    make_days(make_near_station("ZZMAIN"), count=1500)
    set_down(zone, dt.date(2026, 4, 1), 6)
    return cast.make_catch_test(visit, zone)


def address(zone, query="units=metric"):
    return f"/api/v1/zones/{zone.pk}/water-account?{query}"


def test_every_list_has_a_value_for_each_date(technician_api, zone, tested):
    content = technician_api.get(address(zone)).json()

    assert (content["dates"][0], content["dates"][-1]) == ("2026-04-11", "2026-06-09")
    assert {len(content[name]["values"]) for name in LISTS} == {60}
    assert {content[name]["unit"] for name in LISTS} == {"mm"}
    assert (content["is_estimated"], content["setting_since"]) == (False, "2026-04-01")
    assert (content["days_filled"], content["days_usual"]) == (0, 0)
    assert (content["days_rain_unknown"], content["unscored"]) == (0, None)
    assert 0 < content["scores"]["adequacy"] <= 1
    # The books close: what came in is what was used, lost, and is held more than at the start.
    total = {name: sum(content[name]["values"]) for name in LISTS}
    came = total["effective_rain"] + total["gross"] - total["uneven_loss"]
    left = (
        total["need"] - total["deficit"] + total["runoff"] + total["drained_rain"]
        + total["drained_irrigation"]
    )  # fmt: skip
    held = content["stored"]["values"][-1] - content["capacity"]["value"]
    assert came == pytest.approx(left + held, abs=0.05)


def test_an_account_that_begins_before_its_setting_has_no_scores_and_says_why(
    office_api, zone, tested
):
    content = office_api.get(address(zone, "days=90")).json()

    assert set(content["scores"].values()) == {None}
    assert content["unscored"] == {
        "code": "setting-began-later",
        "sentence": "A setting is known from 2026-04-01 on; what was put down before is not.",
    }


def test_rain_that_nobody_has_is_counted(office_api, zone, tested):
    WeatherDay.objects.filter(date__gte=dt.date(2026, 6, 1)).update(rain_mm=None)

    content = office_api.get(address(zone)).json()

    assert (content["days_rain_unknown"], content["days_usual"]) == (9, 0)
    assert content["is_rain_unknown"] == [False] * 51 + [True] * 9
    assert content["is_et0_usual"] == [False] * 60
    assert set(content["scores"].values()) == {None}
    assert content["unscored"] == {
        "code": "weather-missing",
        "sentence": "Too many of these days have no weather.",
    }


def test_the_units_are_those_asked_for(office_api, zone, tested):
    us = office_api.get(address(zone, "units=us&days=7")).json()
    metric = office_api.get(address(zone, "units=metric&days=7")).json()

    assert us["capacity"]["unit"] == "in"
    inches = [value * 25.4 for value in us["stored"]["values"]]
    assert inches == pytest.approx(metric["stored"]["values"], abs=0.01)


@pytest.mark.parametrize("days", ["6", "367", "many", "-1"])
def test_a_span_that_cannot_be_is_refused_by_name(office_api, zone, tested, days):
    answer = office_api.get(address(zone, f"days={days}"))

    assert (answer.status_code, pointers(answer)) == (400, ["/days"])


def test_who_may_see_it_and_nothing_is_written(
    office_api, technician_api, outsider_api, anonymous_api, zone, tested
):
    before = row_counts()
    callers = (office_api, technician_api, outsider_api, anonymous_api)

    assert [api.get(address(zone)).status_code for api in callers] == [200, 200, 404, 401]
    assert row_counts() == before
