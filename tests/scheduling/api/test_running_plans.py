"""Running plans over the API: who may see them, and that every number of the domain goes out."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import WeatherDay
from scheduling.selectors.running_plans import property_running_plan
from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts
from tests.properties.rule_rows import make_district, make_rule
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


@pytest.mark.parametrize(("system", "depth"), [("us", (0.25, "in")), ("metric", (6.35, "mm"))])
def test_a_treatment_to_water_in_has_its_rule_beside_it(
    technician_api, zone, visit, recent, system, depth
):
    garden = zone.property
    garden.watering_district = make_district()
    garden.save()
    make_rule(
        garden.watering_district, weekdays=[cast.TODAY.weekday() - 2],
        treatment_depth_mm=6.35, treatment_within_h=24,
    )  # fmt: skip
    row = field_rows.make_treatment(visit, zone, at_most_mm=12.7)

    (found,) = technician_api.get(f"/api/v1/zones/{zone.pk}/running-plan?units={system}").json()[
        "zones"
    ]

    (water_in,) = found["water_ins"]
    value, unit = depth
    assert (water_in["treatment"], water_in["product_label"]) == (str(row.pk), row.label)
    assert water_in["at_most"] == {"value": pytest.approx(2 * value), "unit": unit}
    assert water_in["rule_at_most"] == {"value": pytest.approx(value), "unit": unit}
    assert (water_in["rule_within_hours"], water_in["rule_source"]) == (
        24.0, garden.watering_district.name,
    )  # fmt: skip
    assert str(cast.TODAY) in water_in["rule_days"]
    assert water_in["reason"]["code"] == "water-in-rule"
    assert found["days"][0]["reasons"][0]["code"] == "water-in-relieved"


def test_what_all_minutes_stand_on_is_said_with_the_zone(technician_api, garden, zone, recent):
    cast.make_ticket(
        garden, zone=zone, fault="broken", state="mended",
        mended_at=cast.NOW + dt.timedelta(minutes=1),
    )  # fmt: skip

    (found,) = technician_api.get(f"/api/v1/zones/{zone.pk}/running-plan").json()["zones"]

    assert found["mended_on"] == str(cast.TODAY)
    codes = {reason["code"] for reason in found["reasons"]}
    assert {"measured-rate", "mended-rate", "mended-uniformity"} <= codes
    wet = next(day for day in found["days"] if day["water"])
    assert {"minutes"} <= {reason["about"] for reason in wet["reasons"]}
    assert found["deficit"]["value"] == pytest.approx(
        sum(day["deficit"]["value"] for day in found["days"]), abs=1e-4
    )
