"""`?expand=` gives the rows behind references, to whom may see them."""

from __future__ import annotations

import pytest

from tests import cast
from tests.problems import pointers


def test_a_property_comes_with_its_client_for_the_office(office_api, garden):
    (row,) = office_api.get("/api/v1/properties?expand=customer").json()["results"]
    alone = office_api.get(f"/api/v1/properties/{garden.pk}?expand=customer").json()

    assert row["customer"] == str(garden.customer_id)
    assert row["expanded"]["customer"]["email"] == "ingrid@holm.example"
    assert alone["expanded"] == row["expanded"]


def test_without_asking_a_row_stays_as_it_was(office_api, garden):
    assert "expanded" not in office_api.get(f"/api/v1/properties/{garden.pk}").json()


def test_a_client_is_as_unknown_to_a_technician_as_what_is_not_there(technician_api, visit):
    refused = technician_api.get("/api/v1/properties?expand=customer")
    unknown = technician_api.get("/api/v1/properties?expand=colour")

    assert pointers(refused) == pointers(unknown) == ["/expand"]
    assert refused.content == unknown.content.replace(b"colour", b"customer")


def test_a_visit_comes_with_its_property_and_without_gate_code_or_client(technician_api, visit):
    visit.property.access_notes = "Gate 4711"
    visit.property.save()

    (row,) = technician_api.get("/api/v1/visits?expand=property").json()["results"]

    assert row["expanded"]["property"]["street"] == "48 Kiln Street"
    assert {"access_notes", "customer"}.isdisjoint(row["expanded"]["property"])


def test_several_are_asked_for_after_commas_and_a_missing_one_is_null(office_api, zone):
    hose = cast.make_zone(zone.controller, number=2, name="Hose")
    hose.controller = None
    hose.save()

    rows = office_api.get("/api/v1/zones?expand=controller,property&ordering=name").json()

    front, hose = rows["results"]
    assert front["expanded"]["controller"]["name"] == "Garage"
    assert hose["expanded"]["controller"] is None
    assert hose["expanded"]["property"]["name"] == "Holm garden"


@pytest.mark.parametrize("asked", ["", "customer,", "controller.property", "zone"])
def test_what_cannot_be_asked_for_is_refused_by_naming_what_can(office_api, garden, asked):
    answer = office_api.get("/api/v1/properties", {"expand": asked})

    assert pointers(answer) == ["/expand"]
    assert "customer" in answer.json()["errors"][0]["detail"]


def test_a_list_that_expands_nothing_does_not_know_the_parameter(office_api, company):
    assert pointers(office_api.get("/api/v1/staff?expand=property")) == ["/expand"]


def test_a_test_comes_with_its_zone_and_its_house(office_api, visit, zone):
    cast.make_catch_test(visit, zone)

    (row,) = office_api.get("/api/v1/catch-tests?expand=zone,property").json()["results"]

    assert row["expanded"]["zone"]["name"] == "Front lawn"
    assert row["expanded"]["property"]["id"] == str(zone.property_id)
