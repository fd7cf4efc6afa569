"""Stored plans: asked for, made in the background, read."""

from __future__ import annotations

import pytest

from audits.models import CatchTest
from properties.models import Job, Zone
from scheduling.models import WateringPlan
from scheduling.services.plans import store_plans
from tests import cast
from tests.background import work
from tests.properties.rule_rows import make_district, make_rule
from tests.writes import keyed


def test_the_office_has_a_property_planned_in_the_background(callers, garden, tested):
    office_api, technician_api, outsider_api, anonymous_api = callers
    address = f"/api/v1/properties/{garden.pk}/plans"
    assert technician_api.post(address, headers=keyed()).status_code == 403
    assert outsider_api.post(address, headers=keyed()).status_code == 403
    assert anonymous_api.post(address).status_code == 401

    asked = office_api.post(address, headers=keyed())
    again = office_api.post(address, headers=keyed())

    assert (asked.status_code, again.json()["id"]) == (202, asked.json()["id"])
    assert work() == f"plans-of-property {garden.pk}: done\n"
    job = office_api.get(f"/api/v1/jobs/{asked.json()['id']}").json()
    assert (job["state"], job["result"]["new_plans"]) == ("done", 1)
    assert WateringPlan.objects.count() == 1


def test_a_property_without_weather_parks_its_job_with_the_cure(office_api, garden, zone):
    asked = office_api.post(f"/api/v1/properties/{garden.pk}/plans", headers=keyed()).json()

    work()

    job = office_api.get(f"/api/v1/jobs/{asked['id']}").json()
    assert job["state"] == "parked"
    assert job["problem"]["code"] == "no-station"
    assert job["problem"]["remedy"]


def test_stored_plans_are_read_by_those_who_see_the_zone(callers, garden, zone, tested):
    office_api, technician_api, outsider_api, anonymous_api = callers
    office_api.post(f"/api/v1/properties/{garden.pk}/plans", headers=keyed())
    work()
    address = f"/api/v1/watering-plans?zone={zone.pk}"

    (plan,) = technician_api.get(address).json()["results"]

    assert (plan["zone"], plan["number"], plan["test"]) == (str(zone.pk), 1, str(tested.pk))
    assert len(plan["months"]) == 12
    assert outsider_api.get(address).json()["results"] == []
    assert outsider_api.get(f"/api/v1/watering-plans/{plan['id']}").status_code == 404
    assert anonymous_api.get(address).status_code == 401
    assert office_api.post("/api/v1/watering-plans", {}).status_code in (403, 405)


def test_the_list_of_plans_takes_as_many_queries_for_ten_as_for_one(
    office_api, garden, controller, visit, tested, django_assert_num_queries
):
    store_plans(garden, actor=None, now=cast.NOW)
    queries = 3  # token, units of the company, rows
    with django_assert_num_queries(queries):
        office_api.get("/api/v1/watering-plans")
    for number in range(2, 11):
        cast.make_catch_test(visit, cast.make_zone(controller, number=number))
    store_plans(garden, actor=None, now=cast.NOW)

    with django_assert_num_queries(queries):
        assert len(office_api.get("/api/v1/watering-plans").json()["results"]) == 10


def test_a_finished_visit_brings_plans_and_summary_once(
    technician_api, office_api, visit, zone, tested
):
    technician_api.post(f"/api/v1/visits/{visit.pk}/finish")

    first, second = work(), work()

    assert first.splitlines() == [
        f"plans-after-visit {visit.pk}: done", f"audit-summary {visit.pk}: done",
    ]  # fmt: skip
    assert second == ""
    assert WateringPlan.objects.filter(zone=zone).count() == 1
    (document,) = office_api.get(f"/api/v1/documents?visit={visit.pk}").json()["results"]
    assert document["number"] == 1
    assert set(Job.objects.values_list("state", flat=True)) == {"done"}
    assert Zone.objects.get().watering_plans.get().created_at == cast.NOW


@pytest.mark.parametrize(
    ("units", "rates"),
    [("us", (1.574803, 0.787402, "in/h")), ("metric", (40.0, 20.0, "mm/h"))],  # 40 / 25.4
)
def test_a_revision_says_what_it_changes_and_why(callers, garden, zone, tested, units, rates):
    store_plans(garden, actor=None, now=cast.NOW)
    CatchTest.objects.update(rate_mm_h=20.0, rate_low_mm_h=17.0)
    store_plans(garden, actor=None, now=cast.NOW)
    first, second = zone.watering_plans.order_by("number")
    address = f"/api/v1/watering-plans/{second.pk}/difference?units={units}"

    found = callers[1].get(address).json()

    assert (found["number"], found["before"]) == (2, str(first.pk))
    (july,) = [month for month in found["months"] if month["month"] == 7]
    assert july["sentence"].startswith("July: ")
    minutes = {each["name"]: (each["before"], each["after"]) for each in july["changes"]}["minutes"]
    assert minutes == (first.months[6]["minutes"], second.months[6]["minutes"])
    (cause,) = found["causes"]
    assert cause["code"] == "rate"
    (change,) = cause["changes"]
    before, after, unit = rates
    assert change == {
        "name": "rate", "month": None,
        "before": {"value": pytest.approx(before, rel=1e-5), "unit": unit},
        "after": {"value": pytest.approx(after, rel=1e-5), "unit": unit},
    }  # fmt: skip
    answers = [api.get(address).status_code for api in callers]
    assert answers == [200, 200, 404, 401]


def test_a_first_plan_has_nothing_before_it(office_api, garden, zone, tested):
    store_plans(garden, actor=None, now=cast.NOW)

    found = office_api.get(
        f"/api/v1/watering-plans/{zone.watering_plans.get().pk}/difference"
    ).json()

    assert (found["number"], found["before"], found["months"], found["causes"]) == (1, None, [], [])


def test_a_rule_that_changes_the_days_is_named_in_the_difference(office_api, garden, zone, tested):
    store_plans(garden, actor=None, now=cast.NOW)
    garden.watering_district = make_district()
    garden.save()
    make_rule(garden.watering_district)
    store_plans(garden, actor=None, now=cast.NOW)
    newest = zone.watering_plans.order_by("-number").first()

    found = office_api.get(f"/api/v1/watering-plans/{newest.pk}/difference").json()

    (cause,) = found["causes"]
    assert (cause["code"], len(cause["changes"])) == ("rule", 12)
    assert cause["changes"][0] == {
        "name": "allowed_weekdays", "month": 1, "before": None, "after": [2, 5],
    }  # fmt: skip
    assert any("on Wednesday" in month["sentence"] for month in found["months"])
