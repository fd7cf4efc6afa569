"""Clients, properties, controllers, zones and heads: created, read, and by whom."""

from __future__ import annotations

from uuid import uuid4

import pytest

from properties.models import Event, Property, Zone
from tests import cast
from tests.problems import row_counts
from tests.properties.api.bodies import API

COLLECTIONS = ["customers", "properties", "controllers", "zones", "head-groups"]
SEEN_BY_TECHNICIANS = COLLECTIONS[1:]


@pytest.fixture
def stored(zone) -> dict[str, str]:
    """Return the id of one row of each collection, all of the garden of the technician's visit."""
    heads = cast.make_heads(zone)
    rows = [zone.property.customer, zone.property, zone.controller, zone, heads]
    return dict(zip(COLLECTIONS, [str(row.pk) for row in rows], strict=True))


@pytest.mark.parametrize("path", COLLECTIONS)
def test_the_office_creates_a_row_and_reads_back_what_it_sent(office_api, office, body_of, path):
    sent = body_of[path]

    answer = office_api.post(f"{API}/{path}", sent)

    assert answer.status_code == 201, answer.json()
    made = answer.json()
    assert {name: made[name] for name in sent} == sent
    assert made["revision"] == 1
    assert made["created_at"] == made["changed_at"] == "2026-06-10T15:00:00Z"
    assert office_api.get(f"{API}/{path}/{made['id']}").json() == made
    assert made in office_api.get(f"{API}/{path}").json()["results"]
    event = Event.objects.get(subject_id=made["id"])
    assert (event.act, event.actor) == ("created", office)


def test_what_was_entered_is_kept_beside_the_metric_number(office_api, body_of):
    made = office_api.post(f"{API}/properties", body_of["properties"]).json()

    row = Property.objects.get(pk=made["id"])
    assert row.static_pressure_kpa == pytest.approx(60.5 * 6.894757293168)
    assert row.available_flow_l_min == pytest.approx(12 * 3.785411784)
    assert row.elevation_m == pytest.approx(3517 * 0.3048)
    assert row.entered == {
        "elevation_m": {"value": 3517, "unit": "ft"},
        "static_pressure_kpa": {"value": 60.5, "unit": "psi"},
        "available_flow_l_min": {"value": 12, "unit": "gpm"},
    }


@pytest.mark.parametrize("path", COLLECTIONS)
def test_sending_back_what_came_changes_nothing(office_api, body_of, path):
    """The quantities of an answer, sent again under new names, come back to the letter."""
    sent = body_of[path]
    made = office_api.post(f"{API}/{path}", sent).json()
    renewed = {"name": "Another", "number": 8, "reference": "C-10", "email": "o@x.example"}
    again = {name: renewed.get(name, made[name]) for name in sent}

    twin = office_api.post(f"{API}/{path}", again).json()

    same = set(sent) - renewed.keys()
    assert {name: twin[name] for name in same} == {name: made[name] for name in same}


def test_one_root_depth_stands_for_the_whole_year(office_api, body_of):
    made = office_api.post(f"{API}/zones", body_of["zones"]).json()

    assert Zone.objects.get(pk=made["id"]).root_depths_mm == pytest.approx([152.4] * 12)
    assert made["root_depths"] == {"unit": "in", "values": [6]}


def test_twelve_root_depths_are_kept_by_month(office_api, body_of):
    depths = {"unit": "mm", "values": [*range(100, 220, 10)]}

    made = office_api.post(f"{API}/zones", {**body_of["zones"], "root_depths": depths}).json()

    assert Zone.objects.get(pk=made["id"]).root_depths_mm == depths["values"]
    assert made["root_depths"] == depths


def test_a_quantity_may_be_absent_or_null(office_api, body_of):
    body = {**body_of["zones"], "area": None, "intake": None}
    del body["root_depths"]

    made = office_api.post(f"{API}/zones", body).json()

    assert made["area"] is made["intake"] is made["root_depths"] is None


def test_a_property_without_time_zone_has_the_companys(office_api, body_of, company):
    own = {**body_of["properties"], "time_zone": "Europe/Berlin"}

    assert office_api.post(f"{API}/properties", own).json()["time_zone"] == "Europe/Berlin"
    default = office_api.post(f"{API}/properties", body_of["properties"]).json()
    assert default["time_zone"] == company.time_zone == "America/Chicago"


def test_a_zone_may_hang_on_no_controller(office_api, body_of):
    made = office_api.post(f"{API}/zones", {**body_of["zones"], "controller": None})

    assert made.status_code == 201
    assert made.json()["controller"] is None


def test_metric_numbers_of_rows_made_by_others_come_in_the_asked_units(office_api, zone):
    """200 m2 / 0.09290304 = 2,152.78 ft2 (arithmetic)."""
    url = f"{API}/zones/{zone.pk}"

    assert office_api.get(url).json()["area"] == {"value": 2152.78, "unit": "ft2"}
    assert office_api.get(f"{url}?units=metric").json()["area"] == {"value": 200.0, "unit": "m2"}


# By whom


@pytest.mark.parametrize("path", COLLECTIONS)
def test_a_technician_creates_no_row(technician_api, visit, body_of, path):
    before = row_counts()

    answer = technician_api.post(f"{API}/{path}", body_of[path])

    assert answer.status_code == 403
    assert answer.json()["code"] == "permission-denied"
    assert row_counts() == before


@pytest.mark.parametrize("path", SEEN_BY_TECHNICIANS)
def test_a_technician_reads_the_rows_behind_his_visits(technician_api, visit, stored, path):
    assert technician_api.get(f"{API}/{path}/{stored[path]}").status_code == 200
    rows = technician_api.get(f"{API}/{path}").json()["results"]
    assert [row["id"] for row in rows] == [stored[path]]


def test_contact_data_is_the_offices_alone(technician_api, visit, stored):
    assert technician_api.get(f"{API}/customers").status_code == 403
    assert technician_api.get(f"{API}/customers/{stored['customers']}").status_code == 403


@pytest.mark.parametrize("path", SEEN_BY_TECHNICIANS)
def test_for_a_stranger_the_rows_do_not_exist(outsider_api, visit, stored, path):
    foreign = outsider_api.get(f"{API}/{path}/{stored[path]}")
    unknown = outsider_api.get(f"{API}/{path}/{uuid4()}")

    assert foreign.status_code == unknown.status_code == 404
    assert foreign.json() == unknown.json()
    assert outsider_api.get(f"{API}/{path}").json()["results"] == []


@pytest.mark.parametrize("path", COLLECTIONS)
def test_without_signing_in_nothing_is_shown_or_made(anonymous_api, stored, body_of, path):
    for answer in (
        anonymous_api.get(f"{API}/{path}"),
        anonymous_api.get(f"{API}/{path}/{stored[path]}"),
        anonymous_api.post(f"{API}/{path}", body_of[path]),
    ):
        assert answer.status_code == 401
        assert answer["WWW-Authenticate"] == "Bearer"


@pytest.mark.parametrize("path", COLLECTIONS)
def test_rows_are_not_deleted(office_api, stored, path):
    answer = office_api.delete(f"{API}/{path}/{stored[path]}")

    assert answer.status_code == 405
    assert answer["Allow"] == "GET, PUT, PATCH, HEAD, OPTIONS"


@pytest.mark.parametrize("path", COLLECTIONS)
def test_what_is_no_id_is_not_found(office_api, company, path):
    assert office_api.get(f"{API}/{path}/front-lawn").status_code == 404
