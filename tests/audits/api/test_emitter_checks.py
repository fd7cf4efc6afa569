"""Emitters over the API: caught one by one, computed, and refused by name."""

from __future__ import annotations

import pytest

from audits.models import EmitterCheck, Finding, VisitState
from properties.models import Event
from tests import cast
from tests.audits import field_rows
from tests.conftest import client_of
from tests.problems import pointers, row_counts

URL = "/api/v1/emitter-checks"
L_H = 1 / 60


def ml(*values):
    return {"unit": "mL", "values": list(values)}


def kpa(value):
    return {"value": value, "unit": "kPa"}


# Twenty emitters caught for 3 min: fifteen of 100 mL (2 L/h) and five of 50 mL.
CAUGHT = {"volumes": ml(*[100] * 15, *[50] * 5), "catch_s": 180}


@pytest.fixture
def drip(controller):
    zone = cast.make_zone(controller, number=9, head_kind="drip", area_m2=None)
    cast.make_heads(
        zone, count=300, rated_flow_l_min=2 * L_H, emitter_spacing_m=0.3, lateral_spacing_m=0.5
    )
    return zone


@pytest.fixture
def send(technician_api, visit, drip):
    def post(body, query=""):
        sent = {"visit": str(visit.pk), "zone": str(drip.pk), **body}
        return technician_api.post(f"{URL}{query}", sent)

    return post


def test_volumes_come_to_flows_evenness_and_advice(send, technician_api, technician):
    made = send({**CAUGHT, "running_pressure": kpa(150)}, "?units=metric")

    body = made.json()
    assert made.status_code == 201, body
    assert (body["emitters"], body["dry_emitters"], body["catch_s"]) == (20, 0, 180)
    # Arithmetic: mean 1.75 L/h, low quarter 1.
    assert body["mean_flow"] == {"value": pytest.approx(1.75 * L_H, rel=1e-5), "unit": "L/min"}
    assert body["emission_uniformity"] == pytest.approx(1 / 1.75)
    assert body["rated_flow"]["value"] == pytest.approx(2 * L_H, rel=1e-5)
    assert body["running_pressure"] == kpa(150)
    assert body["as_entered"] == {"volumes": CAUGHT["volumes"]}
    assert body["readings"][0] == {
        "number": 1, "volume": {"value": 100, "unit": "mL"},
        "flow": {"value": pytest.approx(2 * L_H, rel=1e-5), "unit": "L/min"},
    }  # fmt: skip
    assert [advice["code"] for advice in body["advice"]] == [
        "uneven-emitters", "flow-off-catalogue",
    ]  # fmt: skip
    assert technician_api.get(f"{URL}/{body['id']}?units=metric").json() == body
    event = Event.objects.get(subject_id=body["id"])
    assert (event.act, event.actor) == ("checked", technician)


def test_flows_may_be_sent_instead_and_keep_their_unit(send):
    flows = {"unit": "gpm", "values": [0.0088] * 18}

    body = send({"flows": flows}).json()

    assert body["mean_flow"] == {"value": pytest.approx(0.0088), "unit": "gpm"}
    assert body["emission_uniformity"] == pytest.approx(1.0)
    assert body["as_entered"] == {"flows": flows}
    assert (body["catch_s"], body["readings"][3]["volume"]) == (None, None)


def test_a_dry_emitter_counts_and_is_told(send):
    body = send({"volumes": ml(0, 0, *[100] * 14), "catch_s": 180}).json()

    assert (body["emitters"], body["dry_emitters"], body["emission_uniformity"]) == (
        16, 2, pytest.approx(0.5 / 0.875),
    )  # fmt: skip
    assert body["advice"][0]["code"] == "dry-emitters"


# name: (what differs from a sound check, where, what the cure says)
BAD = {
    "all dry": ({"volumes": ml(*[0] * 20)}, "/volumes", "Record a finding"),
    "no emitter": ({"volumes": ml()}, "/volumes", "Send from 1 to 500"),
    "more than 500": ({"volumes": ml(*[100] * 501)}, "/volumes", "Send from 1 to 500"),
    "a negative volume": ({"volumes": ml(100, -1)}, "/volumes/values/1", "Enter a number from 0"),
    "a volume that is no number": ({"volumes": ml("nan")}, "/volumes/values/0", "number"),
    "a flood": ({"volumes": ml(49_000), "catch_s": 1}, "/volumes", "Enter a number"),
    "no time": ({"catch_s": None}, "/catch_s", "null"),
    "nought seconds": ({"catch_s": 0}, "/catch_s", "Enter a number from 1"),
    "minus seconds": ({"catch_s": -60}, "/catch_s", "Enter a number from 1"),
    "a time that is no number": ({"catch_s": "nan"}, "/catch_s", "number"),
    "both ways": ({"flows": {"unit": "gpm", "values": [0.01]}}, "/volumes", "or else the flows"),
    "a unit of length": (
        {"volumes": {"unit": "ft", "values": [1]}}, "/volumes/values/0", "Use one of: mL"
    ),
    "a pressure beyond all": ({"running_pressure": kpa(2600)}, "/running_pressure", "Enter a"),
    "evenness by hand": ({"emission_uniformity": 1}, "/emission_uniformity", "cannot be set"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_is_refused_by_its_name_with_a_cure(send, name):
    changes, where, cure = BAD[name]
    before = row_counts()

    answer = send({**CAUGHT, **changes})

    assert (answer.status_code, pointers(answer)) == (400, [where])
    (error,) = answer.json()["errors"]
    assert cure in f"{error['detail']} {error.get('remedy', '')}"
    assert row_counts() == before


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({}, "/volumes"),
        ({"volumes": ml(100)}, "/catch_s"),
        ({"flows": {"unit": "gpm", "values": [0.01]}, "catch_s": 60}, "/catch_s"),
    ],
    ids=["nothing", "volumes without time", "flows with time"],
)
def test_half_a_reading_is_refused(send, body, where):
    answer = send(body)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert not EmitterCheck.objects.exists()


def test_a_zone_without_drip_is_refused_and_one_with_some_is_taken(send, zone):
    refused = send({**CAUGHT, "zone": str(zone.pk)})
    cast.make_heads(zone, kind="drip", count=40, rated_flow_l_min=2 * L_H)
    taken = send({**CAUGHT, "zone": str(zone.pk)})

    assert (refused.status_code, pointers(refused)) == (400, ["/zone"])
    assert refused.json()["errors"][0]["code"] == "no-drip"
    assert taken.status_code == 201


@pytest.mark.parametrize(("has_pump", "status"), [(False, 400), (True, 201)])
def test_a_pressure_above_the_static_one_needs_a_pump(send, garden, has_pump, status):
    garden.static_pressure_kpa = 300
    garden.save()

    answer = send({**CAUGHT, "running_pressure": kpa(310), "has_pump": has_pump})

    assert answer.status_code == status
    if status == 400:
        assert pointers(answer) == ["/running_pressure"]
        assert not EmitterCheck.objects.exists()


def test_a_zone_of_another_property_is_refused(office_api, visit, other_garden):
    zone = cast.make_zone(cast.make_controller(other_garden), head_kind="drip")
    before = row_counts()

    answer = office_api.post(URL, {"visit": str(visit.pk), "zone": str(zone.pk), **CAUGHT})

    assert (answer.status_code, pointers(answer)) == (400, ["/zone"])
    assert row_counts() == before


def test_a_stranger_and_a_colleague_do_not_record(outsider_api, anonymous_api, visit, drip):
    sent = {"visit": str(visit.pk), "zone": str(drip.pk), **CAUGHT}

    assert outsider_api.post(URL, sent).status_code == 400
    assert anonymous_api.post(URL, sent).status_code == 401
    field_rows.make_emitter_check(visit, drip)
    assert outsider_api.get(URL).json()["results"] == []
    assert EmitterCheck.objects.count() == 1


def test_a_colleague_at_the_same_property_does_not_record_at_my_visit(
    outsider, garden, visit, drip
):
    cast.make_visit(garden, outsider)
    before = row_counts()

    answer = client_of(outsider).post(URL, {"visit": str(visit.pk), "zone": str(drip.pk), **CAUGHT})

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])
    assert row_counts()["audits.EmitterCheck"] == before["audits.EmitterCheck"]


def test_nothing_is_recorded_of_tomorrow_or_before_the_visit_began(send, visit):
    future = send({**CAUGHT, "taken_at": "2026-06-11T15:00:01Z"})
    visit.state, visit.started_at = VisitState.PLANNED, None
    visit.save()
    early = send(CAUGHT)

    assert (future.status_code, pointers(future)) == (400, ["/taken_at"])
    assert (early.status_code, pointers(early)) == (409, ["/visit"])
    assert not EmitterCheck.objects.exists()


def test_a_taken_id_is_refused_and_leaves_no_readings(send):
    first = send(CAUGHT).json()
    before = row_counts()

    answer = send({**CAUGHT, "id": first["id"]})

    assert (answer.status_code, pointers(answer)) == (409, ["/id"])
    assert row_counts() == before


def test_the_cure_of_an_all_dry_zone_works(technician_api, visit, drip):
    body = {"visit": str(visit.pk), "zone": str(drip.pk), "fault": "valve_does_not_open",
            "severity": "urgent"}  # fmt: skip

    assert technician_api.post("/api/v1/findings", body).status_code == 201
    assert Finding.objects.get().zone == drip


def test_the_list_takes_as_many_queries_for_ten_checks_as_for_one(
    technician_api, visit, drip, controller, django_assert_num_queries
):
    field_rows.make_emitter_check(visit, drip)
    queries = 6  # token, company (units, and day of the scope), rows, readings, heads
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for number in range(20, 29):
        zone = cast.make_zone(controller, number=number, head_kind="drip")
        cast.make_heads(zone, rated_flow_l_min=2 * L_H)
        field_rows.make_emitter_check(visit, zone)

    with django_assert_num_queries(queries):
        found = technician_api.get(URL).json()["results"]
    assert len(found) == 10
    assert {len(check["readings"]) for check in found} == {20}


def test_filters_by_zone_and_visit(technician_api, visit, drip, zone):
    mine = field_rows.make_emitter_check(visit, drip)
    field_rows.make_emitter_check(visit, zone)

    found = technician_api.get(f"{URL}?zone={drip.pk}&visit={visit.pk}").json()["results"]

    assert [row["id"] for row in found] == [str(mine.pk)]
