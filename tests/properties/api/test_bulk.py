"""Many rows in one request: each is made or refused by itself."""

from __future__ import annotations

import pytest
from django.db import OperationalError, connection

from audits.models import Visit
from properties.domain.ids import uuid7
from properties.models import Event, HeadGroup, Zone
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties.api import bodies
from tests.properties.api.bodies import API


def zones_on(controller, *numbers):
    body = bodies.zone_on(controller)
    return [body | {"id": str(uuid7()), "number": number, "name": "Z"} for number in numbers]


def test_each_row_is_made_or_refused_by_itself(office_api, controller, other_garden):
    strange = cast.make_controller(other_garden)
    items = zones_on(controller, 1, 0, 2, 2, 3)
    items[4]["controller"] = str(strange.pk)
    items[2]["colour"] = "green"

    answer = office_api.post(f"{API}/zones/bulk", {"items": items})

    results = answer.json()["results"]
    assert answer.status_code == 200
    assert [result["status"] for result in results] == [201, 400, 400, 201, 400]
    assert [result["id"] for result in results] == [item["id"] for item in items]
    problems = [result["problem"] for result in results]
    told = [[error["pointer"] for error in one["errors"]] if one else None for one in problems]
    assert told == [None, ["/number"], ["/colour"], None, ["/controller"]]
    assert results[0]["row"] == office_api.get(f"{API}/zones/{items[0]['id']}").json()
    assert set(Zone.objects.values_list("number", flat=True)) == {1, 2}
    assert Event.objects.filter(act="created", subject_kind="properties.zone").count() == 2


def test_all_sent_again_makes_nothing_again(office_api, zone):
    body = bodies.heads_in(zone)
    items = [body | {"id": str(uuid7()), "name": name} for name in ("corners", "edges")]
    first = office_api.post(f"{API}/head-groups/bulk", {"items": items}).json()
    before = row_counts()

    again = office_api.post(f"{API}/head-groups/bulk", {"items": items}).json()

    assert [result["status"] for result in again["results"]] == [200, 200]
    assert [result["row"] for result in again["results"]] == [
        result["row"] for result in first["results"]
    ]
    assert row_counts() == before
    assert HeadGroup.objects.count() == 2


def test_a_week_of_visits_is_planned_at_once(office_api, garden, technician):
    items = [
        {
            "id": str(uuid7()), "property": str(garden.pk), "technician": str(technician.pk),
            "planned_date": f"2026-07-0{day}",
        }
        for day in range(1, 8)
    ]  # fmt: skip

    answer = office_api.post(f"{API}/visits/bulk", {"items": items})

    assert {result["status"] for result in answer.json()["results"]} == {201}
    assert Visit.objects.count() == 7


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({}, "/items"), ({"items": []}, "/items"), ({"items": "all"}, "/items"),
        ({"items": [{"number": 1}]}, "/items/0/id"),
        ({"items": [{"id": "a"}, {"id": "A"}]}, "/items/1/id"),
        ({"items": [{"id": str(n)} for n in range(101)]}, "/items"),
        ({"items": [{"id": "x"}], "colour": 1}, "/colour"),
    ],
)  # fmt: skip
def test_what_is_no_list_of_rows_is_refused_as_a_whole(office_api, controller, wrong, pointer):
    answer = office_api.post(f"{API}/zones/bulk", wrong)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert not Zone.objects.exists()


def test_only_the_office_makes_many(technician_api, anonymous_api, visit, controller):
    items = zones_on(controller, 1)

    for api, status in ((technician_api, 403), (anonymous_api, 401)):
        assert api.post(f"{API}/zones/bulk", {"items": items}).status_code == status
    assert not Zone.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_where_nothing_can_be_stored_any_more_no_row_is_told_as_made(
    office_api, controller, monkeypatch
):
    """As when the connection dies at the last row: its savepoint cannot be undone."""
    items = zones_on(controller, 1, 2, 0)

    def broken(*args):
        raise OperationalError("the connection is gone")

    with monkeypatch.context() as dying:
        dying.setattr(connection, "savepoint_rollback", broken)
        answer = office_api.post(f"{API}/zones/bulk", {"items": items})

    assert answer.status_code >= 400
    assert not Zone.objects.exists()
