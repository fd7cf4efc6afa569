"""Fitted programs over the API: asked for, read as a table, and compared with what is set."""

from __future__ import annotations

import pytest

from audits.models import ProgramSetting, SettingProgram, SettingRun
from properties.models import Job, Zone
from scheduling.models import ControllerProgram
from tests import cast
from tests.problems import row_counts
from tests.scheduling.program_rows import make_fitted, make_planned, run_fit
from tests.writes import keyed


@pytest.fixture
def callers(office_api, technician_api, outsider_api, anonymous_api):
    return office_api, technician_api, outsider_api, anonymous_api


@pytest.fixture
def fitted(visit, zone):
    return make_fitted(zone.controller)


@pytest.mark.parametrize("route", ["", "/table", "/changes"])
def test_who_reads_what(callers, fitted, controller, route):
    ProgramSetting.objects.create(
        controller=controller, source="found", since=cast.TODAY, **cast.ROW
    )
    address = f"/api/v1/controller-programs/{fitted.pk}{route}"

    assert [api.get(address).status_code for api in callers] == [200, 200, 404, 401]


def test_the_list_takes_as_many_queries_for_many(
    office_api, visit, zone, controller, django_assert_num_queries
):
    make_fitted(controller)
    address = f"/api/v1/controller-programs?controller={controller.pk}"
    office_api.get(address)
    with django_assert_num_queries(3):
        office_api.get(address)
    for number in range(2, 8):
        make_fitted(controller, number)

    with django_assert_num_queries(3):
        assert len(office_api.get(address).json()["results"]) == 7


def test_the_table_takes_as_many_queries_for_many_zones(
    office_api, visit, station, zone, django_assert_max_num_queries
):
    controller = make_planned(visit, zone)
    run_fit(controller)
    row = ControllerProgram.objects.get()

    with django_assert_max_num_queries(6):
        office_api.get(f"/api/v1/controller-programs/{row.pk}/table")


@pytest.mark.parametrize("collection", ["controllers", "properties"])
def test_only_the_office_has_them_fitted(callers, visit, station, zone, collection):
    controller = make_planned(visit, zone)
    subject = controller if collection == "controllers" else controller.property
    before = row_counts()
    address = f"/api/v1/{collection}/{subject.pk}/fit-programs"

    answers = [api.post(address, headers=keyed()).status_code for api in callers]

    assert answers == [202, 403, 403, 401]
    assert row_counts() != before


@pytest.fixture
def planned(visit, station, zone):
    return make_planned(visit, zone)


@pytest.mark.parametrize(
    ("collection", "style", "kind"),
    [
        ("controllers", "days", "fit-programs"),
        ("controllers", "percent", "fit-programs-by-percent"),
        ("properties", "days", "fit-property"),
        ("properties", "percent", "fit-property-by-percent"),
    ],
)
def test_the_style_that_is_asked_for_is_fitted(office_api, planned, collection, style, kind):
    controller = planned
    subject = controller if collection == "controllers" else controller.property
    address = f"/api/v1/{collection}/{subject.pk}/fit-programs"

    first = office_api.post(address, {"style": style}, headers=keyed()).json()
    again = office_api.post(address, {"style": style}, headers=keyed()).json()

    assert (first["kind"], first["state"]) == (kind, "waiting")
    assert again["id"] == first["id"]
    assert Job.objects.count() == 1


def test_a_style_that_nobody_knows_is_refused_with_its_field(office_api, visit, zone):
    address = f"/api/v1/controllers/{zone.controller_id}/fit-programs"

    answer = office_api.post(address, {"style": "weekly"}, headers=keyed())

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/style"
    assert not Job.objects.exists()


def test_a_controller_without_plans_is_refused_with_field_and_remedy(office_api, visit, zone):
    before = row_counts()

    answer = office_api.post(
        f"/api/v1/controllers/{zone.controller_id}/fit-programs", headers=keyed()
    )

    assert answer.status_code == 409
    problem = answer.json()
    assert problem["errors"][0]["code"] == "no-plans-yet"
    assert problem["errors"][0]["pointer"] == "/controller"
    assert "plans" in problem["remedy"]
    assert row_counts() == before


def test_the_table_says_what_to_type_and_what_is_lost(office_api, fitted, zone):
    address = f"/api/v1/controller-programs/{fitted.pk}/table?month=6"

    us = office_api.get(f"{address}&units=us").json()
    metric = office_api.get(f"{address}&units=metric").json()

    assert us["programs"][0]["starts"] == ["05:00"]
    assert us["programs"][0]["zones"] == [{
        "zone": str(zone.pk), "number": 1, "name": "Front lawn", "run_min": 9,
        "is_estimated": False,
    }]  # fmt: skip
    assert us["sheets"][0]["months"] == list(range(1, 13))
    # Arithmetic: 4.6 mm are 0.181 in.
    assert us["not_met"][0]["shortfall_week"] == {"value": 0.181102, "unit": "in"}
    assert "it lacks 0.181 in of 1.18 in a week" in us["not_met"][0]["sentence"]
    assert metric["not_met"][0]["shortfall_week"] == {"value": 4.6, "unit": "mm"}
    assert "it lacks 4.6 mm of 30 mm a week" in metric["not_met"][0]["sentence"]


@pytest.mark.parametrize("how", ["query", "header"])
def test_the_table_comes_as_plain_text_for_a_letter(office_api, fitted, how):
    address = f"/api/v1/controller-programs/{fitted.pk}/table"
    if how == "query":
        answer = office_api.get(f"{address}?format=text&units=us")
    else:
        answer = office_api.get(f"{address}?units=us", headers={"accept": "text/plain"})

    assert answer.status_code == 200
    assert answer["content-type"] == "text/plain; charset=utf-8"
    text = answer.content.decode()
    assert "5:00 AM" in text
    assert max(map(len, text.splitlines())) <= 72


def test_a_refusal_of_the_text_is_a_problem(office_api, fitted):
    ControllerProgram.objects.update(months=[])

    answer = office_api.get(f"/api/v1/controller-programs/{fitted.pk}/table?format=text")

    assert (answer.status_code, answer["content-type"]) == (409, "application/problem+json")
    assert answer.json()["errors"][0]["code"] == "not-a-whole-year"


def test_a_month_that_is_none_is_refused(office_api, fitted):
    answer = office_api.get(f"/api/v1/controller-programs/{fitted.pk}/table?month=13")

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/month"


def test_a_newer_plan_makes_the_table_stale(office_api, visit, station, zone):
    controller = make_planned(visit, zone)
    run_fit(controller)
    address = f"/api/v1/controller-programs/{ControllerProgram.objects.get().pk}/table"
    assert office_api.get(address).json()["is_stale"] is False
    plan = zone.watering_plans.get()
    type(plan).objects.filter(pk=plan.pk).update(number=2)

    body = office_api.get(address).json()

    assert body["is_stale"] is True
    assert {"zone": "1 Front lawn", "number": 1, "newest": 2} in body["plans"]
    assert "newer plan" in office_api.get(f"{address}?format=text").content.decode()


def test_zones_without_a_test_are_marked_and_those_left_out_are_told(
    office_api, visit, station, zone
):
    controller = make_planned(visit, zone)
    run_fit(controller)
    row = ControllerProgram.objects.get()

    table = office_api.get(f"/api/v1/controller-programs/{row.pk}/table?month=7").json()
    text = office_api.get(f"/api/v1/controller-programs/{row.pk}/table?format=text").content

    zones = {line["name"]: line for each in table["programs"] for line in each["zones"]}
    assert zones["Beds"]["is_estimated"] is True
    assert zones["Front lawn"]["is_estimated"] is False
    assert table["has_estimates"] is True
    assert b"Beds *" in text
    assert table["left_out"][0].startswith("Zone 3 Unknown is left out: ")


def set_as(controller, zone, *, weekdays, starts, run_min):
    setting = ProgramSetting.objects.create(
        controller=controller, source="found", since=cast.TODAY, **cast.ROW
    )
    program = SettingProgram.objects.create(
        setting=setting, name="A", weekdays=weekdays, starts=starts
    )
    SettingRun.objects.create(program=program, zone=zone, run_min=run_min)


def test_what_to_change_is_told_line_by_line(office_api, fitted, controller, zone):
    set_as(controller, zone, weekdays=[0, 1, 2, 3, 4, 5, 6], starts=["06:00"], run_min=20)

    body = office_api.get(f"/api/v1/controller-programs/{fitted.pk}/changes?units=metric").json()

    assert body["sentences"] == [
        "Program A: days daily -> Mon",
        "Program A: starts 06:00 -> 05:00",
        "Program A: zone 1 Front lawn: 20 -> 9 min",
    ]
    assert body["changes"][2] == {
        "program": "A", "zone": str(zone.pk), "field": "minutes", "before": "20 min",
        "after": "9 min", "sentence": "Program A: zone 1 Front lawn: 20 -> 9 min",
    }  # fmt: skip


def test_a_client_who_has_it_set_has_nothing_to_change(office_api, fitted, controller, zone):
    set_as(controller, zone, weekdays=[0], starts=["05:00"], run_min=9)

    body = office_api.get(f"/api/v1/controller-programs/{fitted.pk}/changes").json()

    assert body["changes"] == []
    assert body["sentences"] == ["Nothing to change."]


def test_a_controller_that_nobody_read_cannot_be_compared(office_api, fitted):
    answer = office_api.get(f"/api/v1/controller-programs/{fitted.pk}/changes")

    assert answer.status_code == 409
    assert answer.json()["errors"][0]["code"] == "no-setting"
    assert "Record the program" in answer.json()["remedy"]


def test_a_zone_that_moved_away_keeps_its_name_in_the_table(office_api, fitted, zone):
    Zone.objects.update(controller=None)

    body = office_api.get(f"/api/v1/controller-programs/{fitted.pk}/table").json()

    assert body["programs"][0]["zones"][0]["name"] == "Front lawn"
