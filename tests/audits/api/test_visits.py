"""Visits over the API: the office plans, the technician goes."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import Visit
from properties.models import Job
from tests import cast
from tests.conftest import client_of
from tests.problems import pointers, row_counts

URL = "/api/v1/visits"


@pytest.fixture
def planned(garden, technician):
    return cast.make_visit(garden, technician)


def body(garden, technician, **changes):
    ids = {"property": str(garden.pk), "technician": str(technician.pk)}
    return {**ids, "planned_date": "2026-06-12", "kind": "retest", **changes}


def test_the_office_plans_and_the_technician_finds_it(
    office_api, technician_api, garden, technician
):
    made = office_api.post(URL, body(garden, technician, notes="Bring the long ruler."))

    assert made.status_code == 201
    assert made.json()["state"] == "planned"
    found = technician_api.get(f"{URL}/{made.json()['id']}").json()
    assert found == made.json()
    assert (found["kind"], found["notes"]) == ("retest", "Bring the long ruler.")


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"technician": "office"}, ["/technician"]),
        ({"technician": "nobody"}, ["/technician"]),
        ({"planned_date": "soon"}, ["/planned_date"]),
        ({"kind": "picnic"}, ["/kind"]),
        ({"property": "0190a000-0000-7000-8000-00000000dead"}, ["/property"]),
    ],
)
def test_a_plan_that_cannot_be_is_refused(office_api, garden, technician, office, changes, where):
    people = {"office": str(office.pk), "nobody": None}
    before = row_counts()

    sent = {**body(garden, technician), **changes}
    answer = office_api.post(
        URL, {**sent, "technician": people.get(sent["technician"], sent["technician"])}
    )

    assert (answer.status_code, pointers(answer)) == (400, where)
    assert row_counts() == before


def test_start_and_finish_by_the_technician(technician_api, planned):
    started = technician_api.post(f"{URL}/{planned.pk}/start")
    finished = technician_api.post(f"{URL}/{planned.pk}/finish")

    assert (started.status_code, started.json()["state"]) == (200, "under_way")
    assert started.json()["started_at"] == "2026-06-10T15:00:00Z"
    assert (finished.status_code, finished.json()["state"]) == (200, "finished")
    assert finished.json()["revision"] == 3


@pytest.mark.parametrize(("move", "state"), [("call-off", "called_off"), ("miss", "missed")])
def test_only_the_office_calls_off_and_notes_a_miss(
    office_api, technician_api, planned, move, state
):
    refused = technician_api.post(f"{URL}/{planned.pk}/{move}")
    assert refused.status_code == 403
    assert Visit.objects.get().state == "planned"

    assert office_api.post(f"{URL}/{planned.pk}/{move}").json()["state"] == state


@pytest.mark.parametrize("move", ["start", "call-off", "miss"])
def test_a_move_that_is_not_allowed_is_a_named_refusal(office_api, visit, move):
    before = Visit.objects.values().get()

    answer = office_api.post(f"{URL}/{visit.pk}/{move}")

    assert (answer.status_code, pointers(answer)) == (409, ["/state"])
    assert answer.json()["code"] == "visit-state"
    assert answer.json()["remedy"] == "It must be planned first."
    assert Visit.objects.values().get() == before


def test_finishing_asks_for_the_plans_once(technician_api, visit):
    technician_api.post(f"{URL}/{visit.pk}/finish")
    technician_api.post(f"{URL}/{visit.pk}/finish")

    jobs = Job.objects.values_list("kind", "subject_id", "state")
    assert list(jobs) == [("plans-after-visit", visit.pk, "waiting")]


def test_a_technician_plans_nothing_and_touches_no_visit_of_others(
    technician_api, garden, technician, outsider, anonymous_api
):
    foreign = cast.make_visit(garden, outsider)

    assert technician_api.post(URL, body(garden, technician)).status_code == 403
    for move in ("start", "finish"):
        assert technician_api.post(f"{URL}/{foreign.pk}/{move}").status_code == 404
        assert anonymous_api.post(f"{URL}/{foreign.pk}/{move}").status_code == 401
    assert technician_api.get(f"{URL}/{foreign.pk}").status_code == 404
    assert Visit.objects.get().state == "planned"


def test_a_visit_given_away_or_gone_by_takes_the_property_with_it(
    technician_api, planned, garden, outsider
):
    zone = cast.make_zone(cast.make_controller(garden))
    places = [f"{URL}/{planned.pk}", f"/api/v1/properties/{garden.pk}", f"/api/v1/zones/{zone.pk}"]
    assert {technician_api.get(place).status_code for place in places} == {200}

    old = cast.TODAY - dt.timedelta(days=31)
    Visit.objects.update(planned_date=old)
    assert {technician_api.get(place).status_code for place in places} == {404}

    Visit.objects.update(planned_date=cast.TODAY, technician=outsider)
    assert {technician_api.get(place).status_code for place in places} == {404}
    assert {client_of(outsider).get(place).status_code for place in places} == {200}


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, garden, technician, django_assert_num_queries
):
    cast.make_visit(garden, technician)
    queries = 4  # token, company (units, and the day of the scope), rows
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for _ in range(9):
        cast.make_visit(garden, technician)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10


def test_filters_by_state_and_day(office_api, garden, technician, planned):
    cast.make_visit_under_way(garden, technician)

    found = office_api.get(f"{URL}?state=planned&planned_date=2026-06-10").json()["results"]

    assert [row["id"] for row in found] == [str(planned.pk)]
