"""Filters are named one by one, and tell nothing of what the caller may not see."""

from __future__ import annotations

from typing import Any

import pytest

from properties.domain.ids import uuid7
from tests import cast
from tests.problems import pointers

CUSTOMERS, PROPERTIES, ZONES = (f"/api/v1/{name}" for name in ("customers", "properties", "zones"))


def names(answer: Any) -> set[str]:
    assert answer.status_code == 200, answer.content
    return {row["name"] for row in answer.json()["results"]}


def test_a_foreign_id_finds_as_little_as_an_unknown_one(technician_api, visit, other_garden):
    foreign = technician_api.get(f"/api/v1/zones?property={other_garden.pk}")
    unknown = technician_api.get(f"/api/v1/zones?property={uuid7()}")

    assert (foreign.status_code, unknown.status_code) == (200, 200)
    assert foreign.json() == unknown.json()


def test_a_filter_by_reference_narrows_the_list(office_api, zone, other_garden):
    own = office_api.get(f"/api/v1/zones?property={zone.property_id}").json()["results"]
    other = office_api.get(f"/api/v1/zones?property={other_garden.pk}").json()["results"]

    assert ([row["id"] for row in own], other) == ([str(zone.pk)], [])


def test_an_id_that_is_none_is_named(office_api, company):
    answer = office_api.get("/api/v1/zones?property=front")

    assert answer.status_code == 400
    assert answer.json()["errors"][0]["pointer"] == "/property"


def test_a_row_by_its_address_is_not_filtered_and_takes_no_unknown_parameter(office_api, zone):
    assert office_api.get(f"{ZONES}/{zone.pk}?units=metric").status_code == 200
    assert pointers(office_api.get(f"{ZONES}/{zone.pk}?is_active=false")) == ["/is_active"]


def test_several_words_after_commas_find_rows_of_each(office_api, controller):
    for number, kind in enumerate(("spray", "rotor", "drip"), start=1):
        cast.make_zone(controller, number=number, name=kind, head_kind=kind)

    assert names(office_api.get(f"{ZONES}?head_kind=spray,drip")) == {"spray", "drip"}
    assert names(office_api.get(f"{ZONES}?head_kind=rotor")) == {"rotor"}
    refused = office_api.get(f"{ZONES}?head_kind=spray,sprinkle")
    assert pointers(refused) == ["/head_kind"]
    assert "drip" in refused.json()["errors"][0]["detail"]


def test_quantities_are_filtered_in_metric_whatever_the_units_of_the_answer(office_api, controller):
    for number, area in enumerate((50.0, 200.0, None), start=1):
        cast.make_zone(controller, number=number, name=f"{area}", area_m2=area)

    assert names(office_api.get(f"{ZONES}?area_m2_min=60&units=us")) == {"200.0"}
    assert names(office_api.get(f"{ZONES}?area_m2_max=200")) == {"50.0", "200.0"}


@pytest.fixture
def clients(garden, other_garden):
    holm, brandt = garden.customer, other_garden.customer
    type(holm).objects.filter(pk=holm.pk).update(phone="555 0100", reference="H-7")
    type(holm).objects.filter(pk=brandt.pk).update(phone="555 0199", reference="B-9")
    return garden, other_garden


@pytest.mark.parametrize(
    "words", ["ingrid", "HOLM", "h-7", "0100", "ingrid@holm", "kiln street", "holm kiln", "48"]
)
def test_the_office_finds_clients_and_properties_by_what_it_knows(office_api, clients, words):
    assert names(office_api.get(CUSTOMERS, {"search": words})) == {"Ingrid Holm"}
    assert names(office_api.get(PROPERTIES, {"search": words})) == {"Holm garden"}


def test_every_word_must_stand_somewhere(office_api, clients):
    assert names(office_api.get(PROPERTIES, {"search": "holm mill"})) == set()
    assert names(office_api.get(PROPERTIES, {"search": "% street"})) == set()


def test_a_client_with_two_houses_in_a_street_is_found_once(office_api, clients):
    cast.make_property(clients[0].customer, name="Second", street="50 Kiln Street")

    found = office_api.get(CUSTOMERS, {"search": "kiln"}).json()["results"]

    assert [row["name"] for row in found] == ["Ingrid Holm"]


@pytest.mark.parametrize("words", ["ingrid", "h-7", "0100", "ingrid@holm"])
def test_a_search_tells_a_technician_nothing_of_a_client(technician_api, visit, clients, words):
    """He is at the house, and may know its street; who lives there and how to call, not by this."""
    assert names(technician_api.get(PROPERTIES, {"search": words})) == set()
    assert names(technician_api.get(PROPERTIES, {"search": "kiln"})) == {"Holm garden"}


def test_a_search_tells_a_technician_nothing_of_other_houses(technician_api, visit, clients):
    assert names(technician_api.get(PROPERTIES, {"search": "mill"})) == set()
    assert technician_api.get(CUSTOMERS, {"search": "holm"}).status_code == 403


def test_visits_are_found_by_client_for_the_office_alone(office_api, technician_api, visit):
    url = "/api/v1/visits"

    assert len(office_api.get(url, {"search": "ingrid"}).json()["results"]) == 1
    assert technician_api.get(url, {"search": "ingrid"}).json()["results"] == []
    assert len(technician_api.get(url, {"search": "kiln"}).json()["results"]) == 1
