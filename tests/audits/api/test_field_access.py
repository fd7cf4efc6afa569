"""Who may record in the field, when and where: the same rules for every kind of record."""

from __future__ import annotations

import pytest

from audits.models import VisitState
from properties.models import Event
from tests import cast
from tests.conftest import client_of
from tests.problems import pointers, row_counts

LITRES = {"value": 10, "unit": "L"}
# path: (its moment, what is sent beside the visit and the place, the act that is remembered)
RECORDS = {
    "flow-checks": ("taken_at", {"running_pressure": {"value": 40, "unit": "psi"}}, "checked"),
    "bucket-tests": ("taken_at", {"volume": LITRES, "seconds": 30}, "tested"),
    "meter-readings": ("read_at", {"reading": LITRES}, "read"),
    "symptoms": ("seen_at", {"kind": "moss_or_algae"}, "noticed"),
    "treatments": (
        "applied_at",
        {"kind": "hold_water", "label": "Weed control", "applied_at": "2026-06-10T14:00:00Z",
         "until": "2026-06-19T14:00:00Z"},
        "treated",
    ),
}  # fmt: skip
OF_ZONE = ("flow-checks", "bucket-tests", "symptoms")
each_path = pytest.mark.parametrize("path", RECORDS)


@pytest.fixture
def body(visit, zone):
    def make(path, **changes):
        place = {"property": str(visit.property_id)} if path not in OF_ZONE else {}
        of_zone = {"zone": str(zone.pk)} if path != "meter-readings" else {}
        return {"visit": str(visit.pk), **place, **of_zone, **RECORDS[path][1], **changes}

    return make


@each_path
@pytest.mark.parametrize("who", ["technician", "office"])
def test_the_technician_of_the_visit_and_the_office_record_and_are_remembered(
    request, body, path, who
):
    api = request.getfixturevalue(f"{who}_api")

    made = api.post(f"/api/v1/{path}", body(path))

    assert made.status_code == 201, made.json()
    assert api.get(f"/api/v1/{path}/{made.json()['id']}").json() == made.json()
    assert made.json().items() >= body(path).items()
    event = Event.objects.get(subject_id=made.json()["id"])
    assert (event.act, event.actor) == (RECORDS[path][2], request.getfixturevalue(who))


@each_path
def test_a_stranger_and_nobody_neither_record_nor_read(
    outsider_api, anonymous_api, office_api, body, path
):
    url = f"/api/v1/{path}"
    made = office_api.post(url, body(path)).json()
    before = row_counts()

    refused = outsider_api.post(url, body(path))

    assert (refused.status_code, "/visit" in pointers(refused)) == (400, True)
    assert outsider_api.get(f"{url}/{made['id']}").status_code == 404
    assert outsider_api.get(url).json()["results"] == []
    assert anonymous_api.post(url, body(path)).status_code == 401
    assert anonymous_api.get(f"{url}/{made['id']}").status_code == 401
    assert row_counts() == before


@each_path
def test_a_colleague_at_the_same_property_does_not_record_at_my_visit(outsider, garden, body, path):
    cast.make_visit(garden, outsider)
    api = client_of(outsider)
    before = row_counts()

    answer = api.post(f"/api/v1/{path}", body(path))

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])
    assert answer.json()["code"] == "not-your-visit"
    assert row_counts() == before


@each_path
def test_a_record_from_the_future_is_refused_at_its_moment(technician_api, body, path):
    moment = RECORDS[path][0]
    before = row_counts()

    sent = body(path, **{moment: "2026-06-11T15:00:01Z"})
    answer = technician_api.post(f"/api/v1/{path}", sent)

    assert (answer.status_code, pointers(answer)) == (400, [f"/{moment}"])
    assert answer.json()["remedy"] == "Check the clock of the phone."
    assert row_counts() == before


@each_path
@pytest.mark.parametrize(
    ("state", "status"), [(VisitState.PLANNED, 409), (VisitState.FINISHED, 201)]
)
def test_after_the_end_of_a_visit_records_come_in_and_before_its_start_none(
    technician_api, visit, body, path, state, status
):
    visit.state = state
    visit.finished_at = cast.NOW if state == VisitState.FINISHED else None
    visit.save()

    answer = technician_api.post(f"/api/v1/{path}", body(path))

    assert answer.status_code == status
    if status == 409:
        assert pointers(answer) == ["/visit"]


@pytest.mark.parametrize("path", [*OF_ZONE, "treatments"])
def test_a_zone_of_another_property_is_refused(office_api, other_garden, body, path):
    strange = cast.make_zone(cast.make_controller(other_garden))
    before = row_counts()

    answer = office_api.post(f"/api/v1/{path}", body(path, zone=str(strange.pk)))

    assert (answer.status_code, pointers(answer)) == (400, ["/zone"])
    assert row_counts() == before


@pytest.mark.parametrize("path", ["meter-readings", "treatments"])
def test_a_visit_to_another_property_is_refused(office_api, technician, other_garden, body, path):
    elsewhere = cast.make_visit_under_way(other_garden, technician)

    answer = office_api.post(f"/api/v1/{path}", body(path, visit=str(elsewhere.pk)))

    assert (answer.status_code, pointers(answer)) == (400, ["/visit"])
    assert "another property" in answer.json()["detail"]


@pytest.mark.parametrize("path", ["meter-readings", "treatments"])
def test_without_a_visit_the_office_alone_records(office_api, technician_api, body, path):
    moment = RECORDS[path][0]
    sent = {name: value for name, value in body(path).items() if name != "visit"}

    assert office_api.post(f"/api/v1/{path}", sent).status_code == 201
    refused = technician_api.post(f"/api/v1/{path}", sent)
    future = office_api.post(f"/api/v1/{path}", sent | {moment: "2026-06-11T15:00:01Z"})

    assert (refused.status_code, pointers(refused)) == (400, ["/visit"])
    assert refused.json()["errors"][0]["code"] == "visit-missing"
    assert (future.status_code, pointers(future)) == (400, [f"/{moment}"])


@each_path
def test_an_unknown_field_a_foreign_id_and_a_taken_id_are_refused(
    technician_api, body, path, other_garden, outsider
):
    url = f"/api/v1/{path}"
    foreign = cast.make_visit_under_way(other_garden, outsider)
    made = technician_api.post(url, body(path)).json()
    before = row_counts()
    later = {RECORDS[path][0]: "2026-06-10T14:30:00Z"}
    unknown = "0190a000-0000-7000-8000-00000000dead"

    odd = technician_api.post(url, body(path, colour="blue"))
    strange = technician_api.post(url, body(path, visit=str(foreign.pk)))
    nobodys = technician_api.post(url, body(path, visit=unknown))
    taken = technician_api.post(url, body(path, id=made["id"], **later))

    assert (odd.status_code, pointers(odd)) == (400, ["/colour"])
    assert strange.status_code == nobodys.status_code == 400
    assert str(foreign.pk) in strange.content.decode()
    assert strange.content.decode().replace(str(foreign.pk), unknown) == nobodys.content.decode()
    assert (taken.status_code, pointers(taken)) == (409, ["/id"])
    assert row_counts() == before


@each_path
@pytest.mark.parametrize("method", ["patch", "delete"])
def test_a_record_cannot_be_changed_or_taken_back(office_api, body, path, method):
    made = office_api.post(f"/api/v1/{path}", body(path)).json()

    answer = getattr(office_api, method)(f"/api/v1/{path}/{made['id']}", {})

    assert answer.status_code == 405
    assert office_api.get(f"/api/v1/{path}/{made['id']}").json() == made


@each_path
def test_a_record_is_not_written_over_by_another_under_its_id(office_api, body, path):
    made = office_api.post(f"/api/v1/{path}", body(path)).json()

    answer = office_api.put(f"/api/v1/{path}/{made['id']}", body(path))

    assert (answer.status_code, answer.json()["code"]) == (409, "id-taken")
    assert office_api.get(f"/api/v1/{path}/{made['id']}").json() == made
