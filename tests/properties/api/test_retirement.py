"""What is retired is kept, leaves the lists, takes nothing new, and can come back."""

from __future__ import annotations

import pytest

from audits.services.visits import call_off_visit
from properties.models import Event, HeadGroup, Zone
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties import rule_rows
from tests.properties.api import bodies
from tests.properties.api.bodies import API
from tests.writes import end, patch

WITHOUT_TIES = ["zones", "head-groups", "licences", "staff", "price-items", "weather-stations"]


@pytest.fixture
def addresses(zone, technician) -> dict[str, str]:
    rows = {
        "customers": zone.property.customer, "properties": zone.property,
        "controllers": zone.controller, "zones": zone, "head-groups": cast.make_heads(zone),
        "licences": cast.make_licence(technician), "staff": technician,
        "price-items": cast.make_price_item(), "weather-stations": cast.make_station(),
        "watering-districts": rule_rows.make_district(),
    }  # fmt: skip
    return {name: f"{API}/{name}/{row.pk}" for name, row in rows.items()}


def ids_in(api, path, **query) -> list[str]:
    return [row["id"] for row in api.get(f"{API}/{path}", query).json()["results"]]


@pytest.mark.parametrize("path", [*WITHOUT_TIES, "watering-districts", "properties"])
def test_what_is_retired_leaves_the_list_and_comes_back(office_api, addresses, path):
    row_id = addresses[path].rpartition("/")[2]
    before = office_api.get(addresses[path]).json()

    gone = end(office_api, addresses[path])
    lists = [row_id in ids_in(office_api, path, **query) for query in ({}, {"retired": "true"})]
    read = office_api.get(addresses[path])
    back = end(office_api, addresses[path], "bring-back")

    assert (gone.status_code, lists) == (200, [False, True])
    assert (read.status_code, read.json()) == (200, gone.json())
    assert row_id in ids_in(office_api, path)
    assert row_id not in ids_in(office_api, path, retired="true")
    moving = {"revision", "changed_at"}
    assert {k: v for k, v in back.json().items() if k not in moving} == {
        k: v for k, v in before.items() if k not in moving
    }
    assert back.json()["revision"] == 3
    acts = set(Event.objects.filter(subject_id=row_id).values_list("act", flat=True))
    assert acts <= {"retired", "brought back", "changed"}
    assert Event.objects.filter(subject_id=row_id).count() == 2


@pytest.mark.parametrize("path", WITHOUT_TIES)
def test_twice_is_as_good_as_once(office_api, addresses, path):
    first = end(office_api, addresses[path]).json()
    before = row_counts()

    again = end(office_api, addresses[path])

    assert (again.status_code, again.json(), row_counts()) == (200, first, before)


def test_a_list_is_asked_in_two_words(office_api, company):
    answer = office_api.get(f"{API}/zones?retired=perhaps")

    assert (answer.status_code, pointers(answer)) == (400, ["/retired"])


def test_a_client_with_a_property_in_use_stays(office_api, addresses):
    refused = end(office_api, addresses["customers"])
    end(office_api, addresses["properties"])
    retired = end(office_api, addresses["customers"])
    orphan = end(office_api, addresses["properties"], "bring-back")

    assert (refused.status_code, refused.json()["code"]) == (409, "in-use")
    assert "1 property in use" in refused.json()["detail"]
    assert (retired.status_code, retired.json()["retired_at"]) == (200, "2026-06-10T15:00:00Z")
    assert (orphan.status_code, orphan.json()["code"]) == (409, "retired")


def test_a_property_takes_its_zones_along_and_gives_them_back(office_api, zone, addresses):
    resting = cast.make_zone(zone.controller, number=2, is_active=False)

    end(office_api, addresses["properties"])
    gone = list(Zone.objects.values_list("is_active", flat=True))
    end(office_api, addresses["properties"], "bring-back")

    assert gone == [False, False]
    assert dict(Zone.objects.values_list("pk", "is_active")) == {zone.pk: True, resting.pk: False}


def test_a_controller_with_zones_stays(office_api, addresses):
    refused = end(office_api, addresses["controllers"])
    end(office_api, addresses["zones"])

    assert (refused.status_code, refused.json()["code"]) == (409, "in-use")
    assert end(office_api, addresses["controllers"]).status_code == 200
    back = end(office_api, addresses["zones"], "bring-back")
    assert (back.status_code, pointers(back)) == (409, ["/controller"])


@pytest.mark.parametrize("path", ["properties", "staff"])
def test_visits_ahead_stand_against_an_end(office_api, office, garden, technician, addresses, path):
    visit = cast.make_visit(garden, technician)

    refused = end(office_api, addresses[path])
    call_off_visit(visit, actor=office, now=cast.NOW)

    assert (refused.status_code, refused.json()["code"]) == (409, "in-use")
    assert "1 visit ahead" in refused.json()["detail"]
    assert end(office_api, addresses[path]).status_code == 200


def test_nothing_new_hangs_on_what_is_retired(office_api, zone, addresses, technician):
    garden, heads = zone.property, bodies.heads_in(zone)
    planned = {
        "property": str(garden.pk), "technician": str(technician.pk), "planned_date": "2026-07-01",
    }  # fmt: skip
    end(office_api, addresses["zones"])
    end(office_api, addresses["controllers"])
    on_controller = bodies.zone_on(zone.controller)
    asked = [("head-groups", heads, "zone"), ("zones", on_controller, "controller")]
    refused = [office_api.post(f"{API}/{path}", body) for path, body, _ in asked]
    end(office_api, addresses["properties"])
    later = [
        ("visits", planned, "property"),
        ("controllers", bodies.controller_at(garden), "property"),
        ("zones", on_controller | {"controller": None}, "property"),
    ]
    refused += [office_api.post(f"{API}/{path}", body) for path, body, _ in later]
    end(office_api, addresses["customers"])
    refused.append(office_api.post(f"{API}/properties", bodies.property_of(garden.customer)))
    end(office_api, addresses["staff"])
    licence = {
        "staff": str(technician.pk), "kind": "x", "number": "7", "valid_from": "2026-01-01",
        "valid_until": "2026-12-31",
    }  # fmt: skip
    refused.append(office_api.post(f"{API}/licences", licence))

    fields = [*(field for _, _, field in asked + later), "customer", "staff"]
    for answer, field in zip(refused, fields, strict=True):
        assert (answer.status_code, pointers(answer)) == (409, [f"/{field}"]), answer.json()
        assert answer.json()["code"] == "retired"
        assert "back" in answer.json()["remedy"]


def test_what_is_retired_is_not_chosen_in_a_change(office_api, zone, addresses):
    spare = cast.make_controller(zone.property, name="Shed")
    end(office_api, f"{API}/controllers/{spare.pk}")

    refused = patch(office_api, addresses["zones"], {"controller": str(spare.pk)})

    assert (refused.status_code, pointers(refused)) == (409, ["/controller"])


def test_heads_that_are_gone_water_nothing(office_api, zone, addresses):
    end(office_api, addresses["head-groups"])

    assert not zone.head_groups.exists()
    assert HeadGroup.of_all_times.count() == 1
    assert office_api.get(addresses["head-groups"]).status_code == 200


def test_facts_of_a_retired_zone_are_read_and_recorded(office_api, visit, zone, addresses):
    """The work was done before the office heard of it."""
    end(office_api, addresses["zones"])

    fault = {"visit": str(visit.pk), "zone": str(zone.pk), "fault": "leaning", "severity": "minor"}
    made = office_api.post(f"{API}/findings", fault)

    assert made.status_code == 201, made.json()
    assert made.json()["id"] in ids_in(office_api, "findings", zone=str(zone.pk))


def test_a_retired_station_is_not_chosen_for_a_garden(office_api, garden, station):
    chosen = office_api.get(f"{API}/properties/{garden.pk}/weather")
    end(office_api, f"{API}/weather-stations/{station.pk}")
    after = office_api.get(f"{API}/properties/{garden.pk}/weather")

    assert str(station.pk) in chosen.content.decode()
    assert str(station.pk) not in after.content.decode()


def test_a_leavers_token_ends(office_api, technician_api, addresses):
    assert technician_api.get(f"{API}/company").status_code == 200

    end(office_api, addresses["staff"])

    assert technician_api.get(f"{API}/company").status_code == 401
