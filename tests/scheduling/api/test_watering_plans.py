"""Stored plans: asked for, made in the background, read."""

from __future__ import annotations

from properties.models import Job, Zone
from scheduling.models import WateringPlan
from scheduling.services.plans import store_plans
from tests import cast
from tests.background import work


def test_the_office_has_a_property_planned_in_the_background(callers, garden, tested):
    office_api, technician_api, outsider_api, anonymous_api = callers
    address = f"/api/v1/properties/{garden.pk}/plans"
    assert technician_api.post(address).status_code == 403
    assert outsider_api.post(address).status_code == 403
    assert anonymous_api.post(address).status_code == 401

    asked = office_api.post(address)
    again = office_api.post(address)

    assert (asked.status_code, again.json()["id"]) == (202, asked.json()["id"])
    assert work() == f"plans-of-property {garden.pk}: done\n"
    job = office_api.get(f"/api/v1/jobs/{asked.json()['id']}").json()
    assert (job["state"], job["result"]["new_plans"]) == ("done", 1)
    assert WateringPlan.objects.count() == 1


def test_a_property_without_weather_parks_its_job_with_the_cure(office_api, garden, zone):
    asked = office_api.post(f"/api/v1/properties/{garden.pk}/plans").json()

    work()

    job = office_api.get(f"/api/v1/jobs/{asked['id']}").json()
    assert job["state"] == "parked"
    assert job["problem"]["code"] == "no-station"
    assert job["problem"]["remedy"]


def test_stored_plans_are_read_by_those_who_see_the_zone(callers, garden, zone, tested):
    office_api, technician_api, outsider_api, anonymous_api = callers
    office_api.post(f"/api/v1/properties/{garden.pk}/plans")
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
