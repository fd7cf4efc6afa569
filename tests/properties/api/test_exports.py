"""Rows as CSV over the API: for the office alone, remembered, and harmless to open."""

from __future__ import annotations

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from properties.models import Event
from tests import cast

KINDS = ("customers", "properties", "controllers", "zones")


def export(api, kind, query=""):
    answer = api.get(f"/api/v1/exports/{kind}.csv{query}")
    assert answer.status_code == 200
    return b"".join(answer.streaming_content).decode()


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.fixture(autouse=True)
def _rows(zone):
    zone.property.access_notes = "=cmd gate 4471"
    zone.property.save()


def test_each_kind_goes_out_with_its_owners_by_reference(office_api, zone):
    found = {kind: rows(export(office_api, kind)) for kind in KINDS}

    (garden,), (row,) = found["properties"], found["zones"]
    assert garden["Customer reference"] == f"id:{zone.property.customer_id}"
    assert (row["Property reference"], row["Controller"]) == (f"id:{zone.property_id}", "Garage")
    assert [len(found[kind]) for kind in KINDS] == [1, 1, 1, 1]


def test_quantities_go_out_in_the_units_asked_for(office_api):
    assert rows(export(office_api, "zones", "?units=metric"))[0]["Area (m2)"] == "200"
    us = rows(export(office_api, "zones", "?units=us"))[0]["Area (ft2)"]
    assert float(us) == pytest.approx(200 / 0.3048**2)
    assert office_api.get("/api/v1/exports/zones.csv?units=x").status_code == 400


def test_gate_codes_are_in_it_and_run_nothing(office_api):
    assert rows(export(office_api, "properties"))[0]["Access notes"] == "'=cmd gate 4471"


def test_a_mark_comes_first_when_it_is_asked_for(office_api):
    assert export(office_api, "customers", "?mark=yes").startswith("\ufeffReference,")
    assert export(office_api, "customers").startswith("Reference,")


def test_an_export_is_remembered_with_who_and_what_and_no_values(office_api, office):
    export(office_api, "customers")

    event = Event.objects.get(act="exported")
    assert (event.actor, event.after) == (office, {"exported": "customers", "rows": 1})


def test_what_is_out_of_use_stays_in(office_api, zone):
    zone.property.customer.retired_at = timezone.now()
    zone.property.customer.save()

    assert [rows(export(office_api, kind)) for kind in KINDS] == [[], [], [], []]


@pytest.mark.parametrize("kind", KINDS)
def test_nobody_else_takes_anything_out(technician_api, anonymous_api, kind):
    assert technician_api.get(f"/api/v1/exports/{kind}.csv").status_code == 403
    assert anonymous_api.get(f"/api/v1/exports/{kind}.csv").status_code == 401
    assert not Event.objects.filter(act="exported").exists()


@pytest.mark.parametrize("kind", KINDS)
def test_an_export_takes_as_many_queries_for_many(office_api, zone, kind):
    export(office_api, kind)
    with CaptureQueriesContext(connection) as few:
        export(office_api, kind)
    for number in range(2, 6):
        garden = cast.make_property(name=f"Garden {number}")
        cast.make_zone(cast.make_controller(garden), number=number)
    with CaptureQueriesContext(connection) as many:
        export(office_api, kind)

    assert len(few) == len(many)
