"""Running plans over the API: who may see them, and that every number of the domain goes out."""

from __future__ import annotations

import pytest

from scheduling.models import WeatherDay
from scheduling.selectors.running_plans import property_running_plan
from tests import cast
from tests.problems import pointers, row_counts
from tests.scheduling.weather_rows import make_days, make_forecast

IN = 25.4
PATHS = ["zones/{zone}/running-plan", "properties/{garden}/running-plan"]


@pytest.fixture
def recent(station, tested):
    make_days(station, count=90)
    make_forecast(station, *[{"et0_mm": 6.0, "rain_mm": 1.0, "tmin_c": 15.0, "tmax_c": 31.0}] * 5)


@pytest.mark.parametrize("path", PATHS)
def test_who_may_see_running_plans(callers, garden, zone, recent, path):
    address = "/api/v1/" + path.format(zone=zone.pk, garden=garden.pk)

    answers = [api.get(address).status_code for api in callers]

    assert answers == [200, 200, 404, 401]


@pytest.mark.parametrize("units", [("us", "in", IN), ("metric", "mm", 1.0)])
def test_every_day_is_the_domains_in_the_units_of_the_request(
    technician_api, garden, zone, recent, units
):
    system, unit, mm = units
    content = technician_api.get(f"/api/v1/zones/{zone.pk}/running-plan?units={system}").json()

    (expected,) = property_running_plan(garden, cast.NOW).zones
    (found,) = content["zones"]
    assert [day["date"] for day in found["days"]] == [str(day.date) for day in expected.plan.days]
    for day, own in zip(found["days"], expected.plan.days, strict=True):
        for name, value in (
            ("net", own.net_mm), ("gross", own.gross_mm), ("need", own.need_mm),
            ("stored_before", own.stored_before_mm), ("stored_after", own.stored_after_mm),
            ("limit", own.limit_mm), ("capacity", own.capacity_mm), ("deficit", own.deficit_mm),
        ):  # fmt: skip
            near = pytest.approx(value / mm, rel=1e-4, abs=1e-6)
            assert day[name] == {"value": near, "unit": unit}, name
        assert (day["water"], day["minutes"]) == (own.is_watered, own.minutes)
        assert [each["code"] for each in day["reasons"]] == [r.code for r in own.reasons]
        assert all(each["sentence"] for each in day["reasons"])
    assert any(day["water"] for day in found["days"])
    assert found["start"]["days"] == expected.plan.start.days
    assert (found["estimated"], found["by_hand"], found["refusal"]) == (False, False, None)
    assert content["weather"]["forecast_is_stale"] is False


def test_a_zone_without_rate_has_a_refusal_in_its_place(technician_api, garden, controller, recent):
    cast.make_zone(controller, number=2)

    content = technician_api.get(f"/api/v1/properties/{garden.pk}/running-plan").json()

    planned, refused = content["zones"]
    assert (len(planned["days"]), planned["refusal"]) == (14, None)
    assert (refused["days"], refused["start"], refused["net"]) == ([], None, None)
    assert refused["refusal"]["code"] == "no-rate"


def test_without_weather_all_are_refused(technician_api, garden, zone, recent):
    WeatherDay.objects.all().delete()

    for path in PATHS:
        answer = technician_api.get("/api/v1/" + path.format(zone=zone.pk, garden=garden.pk))
        assert (answer.status_code, pointers(answer)) == (409, ["/latitude"])


def test_reading_a_running_plan_writes_nothing(technician_api, garden, recent):
    before = row_counts()

    technician_api.get(f"/api/v1/properties/{garden.pk}/running-plan")

    assert row_counts() == before
