"""Who may do what: every address of the product, every verb, every kind of person.

The addresses come from the URL list itself: one that is missing in the table fails the test.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client
from django.urls import get_resolver

from audits.models import Finding, ProgramSetting, RepairTicket
from properties.models import Event, Job
from reports.models import Document
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import (
    NightRun,
    Notice,
    Replay,
    WateringPlan,
    WeatherDay,
    WeatherFile,
)
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast
from tests.audits import field_rows
from tests.properties import rule_rows
from tests.scheduling import reminder_rows
from tests.scheduling.program_rows import make_fitted

# The answers to the office, to a technician with a visit there, to a technician without, and to
# nobody in particular. Writers send an empty object: 400 says that they were let in.
OFFICE_READS = {"get": "200 403 403 401"}
STAFF_READS = {"get": "200 200 200 401"}
SCOPED = {"get": "200 200 404 401"}
OFFICE_WRITES = {"post": "400 403 403 401"}
STAFF_WRITES = {"post": "400 400 400 401"}
EVERYBODY_READS = {"get": "200 200 200 200"}

TABLE: dict[str, dict[str, str]] = {
    "sign-in": {"post": "400 400 400 400"},
    "sign-out": {"post": "204 204 204 401"},
    "company": STAFF_READS,
    "staff": OFFICE_READS | OFFICE_WRITES,
    "staff/{pk}": OFFICE_READS,
    "staff/{pk}/tokens": OFFICE_WRITES,
    "licences": OFFICE_READS | OFFICE_WRITES,
    "licences/{pk}": OFFICE_READS,
    "customers": OFFICE_READS | OFFICE_WRITES,
    "customers/{pk}": OFFICE_READS,
    "properties": STAFF_READS | OFFICE_WRITES,
    "properties/{pk}": SCOPED | {"patch": "200 403 403 401"},
    "properties/{pk}/allowed-times": SCOPED,
    "properties/{pk}/season": {"get": "409 409 404 401"},
    "properties/{pk}/running-plan": {"get": "409 409 404 401"},
    "properties/{pk}/water-budget": SCOPED,
    "properties/{pk}/weather": SCOPED,
    "properties/{pk}/weather-picture": SCOPED,
    "properties/{pk}/replays": {"post": "202 403 403 401"},
    "properties/{pk}/savings": {"get": "409 409 404 401"},
    "properties/{pk}/plans": {"post": "202 403 403 401"},
    "notices": OFFICE_READS,
    "notices/{pk}": OFFICE_READS,
    "notices/{pk}/try-again": {"post": "409 403 403 401"},
    "night-runs": OFFICE_READS | {"post": "202 403 403 401"},
    "night-runs/{pk}": OFFICE_READS,
    "pause-notices": {"post": "200 403 403 401"},
    "resume-notices": {"post": "200 403 403 401"},
    "operation": OFFICE_READS,
    "properties/{pk}/notice-preview": {"get": "409 403 403 401"},
    "controller-programs": STAFF_READS,
    "controller-programs/{pk}": SCOPED,
    "controller-programs/{pk}/table": SCOPED,
    "controller-programs/{pk}/changes": SCOPED,
    "controllers/{pk}/fit-programs": {"post": "202 403 403 401"},
    "properties/{pk}/fit-programs": {"post": "202 403 403 401"},
    "controllers": STAFF_READS | OFFICE_WRITES,
    "controllers/{pk}": SCOPED,
    "zones": STAFF_READS | OFFICE_WRITES,
    "zones/{pk}": SCOPED,
    "zones/{pk}/plan": {"get": "409 409 404 401"},
    "zones/{pk}/season": {"get": "409 409 404 401"},
    "zones/{pk}/running-plan": {"get": "409 409 404 401"},
    "zones/{pk}/test-history": SCOPED,
    "zones/{pk}/diagnosis": SCOPED,
    "zones/{pk}/diagnosis-with-need": {"get": "409 409 404 401"},
    "zones/{pk}/water-account": {"get": "409 409 404 401"},
    "zones/{pk}/water-picture": {"get": "409 409 404 401"},
    "zones/{pk}/found-water": SCOPED,
    "zones/{pk}/found-water-with-need": {"get": "409 409 404 401"},
    "zones/{pk}/hose-positions": SCOPED,
    "zones/{pk}/more-heads": SCOPED,
    "zones/{pk}/placement": SCOPED,
    "zones/{pk}/allowed-times": SCOPED,
    "watering-districts": STAFF_READS | OFFICE_WRITES,
    "watering-districts/{pk}": STAFF_READS | {"patch": "200 403 403 401"},
    "watering-districts/{pk}/switch-stage": OFFICE_WRITES,
    "drought-stages": STAFF_READS | OFFICE_WRITES,
    "drought-stages/{pk}": STAFF_READS | {"patch": "200 403 403 401"},
    "stage-periods": STAFF_READS,
    "stage-periods/{pk}": STAFF_READS | {"patch": "200 403 403 401"},
    "watering-rules": STAFF_READS | OFFICE_WRITES,
    "watering-rules/{pk}": STAFF_READS | {"patch": "200 403 403 401"},
    "watering-rules/{pk}/retire": OFFICE_WRITES,
    "water-budgets": STAFF_READS | OFFICE_WRITES,
    "water-budgets/{pk}": STAFF_READS | {"patch": "200 403 403 401"},
    "water-budgets/{pk}/retire": OFFICE_WRITES,
    "digging-window": STAFF_READS,
    "lateral-checks": STAFF_WRITES,
    "head-groups": STAFF_READS | OFFICE_WRITES,
    "head-groups/{pk}": SCOPED,
    "visits": STAFF_READS | OFFICE_WRITES,
    "visits/{pk}": SCOPED,
    "visits/{pk}/start": {"post": "409 409 404 401"},
    "visits/{pk}/finish": {"post": "200 200 404 401"},
    "visits/{pk}/call-off": {"post": "409 403 403 401"},
    "visits/{pk}/miss": {"post": "409 403 403 401"},
    "visits/{pk}/audit-summary": {"post": "409 409 404 401"},
    "catch-tests": STAFF_READS | STAFF_WRITES,
    "catch-tests/{pk}": SCOPED,
    "catch-tests/{pk}/void": {"post": "400 400 404 401"},
    "program-settings": STAFF_READS | STAFF_WRITES,
    "program-settings/{pk}": SCOPED,
    "findings": STAFF_READS | STAFF_WRITES,
    "findings/{pk}": SCOPED,
    "repair-tickets": STAFF_READS | OFFICE_WRITES,
    "repair-tickets/{pk}": SCOPED,
    "repair-tickets/quotes.csv": OFFICE_READS,
    "repair-tickets/{pk}/agree": OFFICE_WRITES,
    "repair-tickets/{pk}/book": OFFICE_WRITES,
    "repair-tickets/{pk}/unbook": OFFICE_WRITES,
    "repair-tickets/{pk}/mend": {"post": "409 409 404 401"},
    "repair-tickets/{pk}/prove": {"post": "400 400 404 401"},
    "repair-tickets/{pk}/decline": OFFICE_WRITES,
    "repair-tickets/{pk}/void": OFFICE_WRITES,
    "repair-tickets/{pk}/lines": SCOPED | OFFICE_WRITES,
    "repair-tickets/{pk}/proofs": SCOPED,
    "ticket-lines/{pk}/strike": {"post": "200 403 403 401"},
    "price-items": OFFICE_READS | OFFICE_WRITES,
    "price-items/{pk}": OFFICE_READS | {"patch": "200 403 403 401"},
    "flow-checks": STAFF_READS | STAFF_WRITES,
    "flow-checks/{pk}": SCOPED,
    "bucket-tests": STAFF_READS | STAFF_WRITES,
    "bucket-tests/{pk}": SCOPED,
    "emitter-checks": STAFF_READS | STAFF_WRITES,
    "emitter-checks/{pk}": SCOPED,
    "meter-readings": STAFF_READS | STAFF_WRITES,
    "meter-readings/{pk}": SCOPED,
    "symptoms": STAFF_READS | STAFF_WRITES,
    "symptoms/{pk}": SCOPED,
    "symptoms/{pk}/with-record": SCOPED,
    "treatments": STAFF_READS | STAFF_WRITES,
    "treatments/{pk}": SCOPED,
    "treatments/{pk}/call-off": {"post": "200 200 404 401"},
    "photos": STAFF_READS,
    "photos/{pk}": SCOPED | {"put": "400 400 400 401"},
    "photos/{pk}/jpeg": SCOPED,
    "visits/{pk}/checklist": SCOPED,
    "zones/{pk}/treatment-effect": SCOPED,
    "weather-stations": STAFF_READS | OFFICE_WRITES,
    "weather-stations/{pk}": STAFF_READS,
    "weather-stations/{pk}/climate": {"get": "409 409 409 401"},
    "weather-stations/{pk}/weather": STAFF_READS,
    "weather-stations/{pk}/calibration": {
        "get": "409 409 409 401",
        "post": "202 403 403 401",
    },
    "weather-stations/{pk}/forecast": STAFF_READS,
    "weather-stations/{pk}/fetch-forecast": {"post": "409 403 403 401"},
    "weather-days": STAFF_READS | OFFICE_WRITES,
    "weather-days/{pk}": STAFF_READS,
    "weather-files": OFFICE_READS | {"post": "415 403 403 401"},
    "weather-files/{pk}": OFFICE_READS,
    "watering-plans": STAFF_READS,
    "watering-plans/{pk}": SCOPED,
    "watering-plans/{pk}/difference": SCOPED,
    "replays": STAFF_READS,
    "replays/{pk}": SCOPED,
    "reminders": OFFICE_READS,
    "reminders/{pk}": OFFICE_READS,
    "reminders/{pk}/snooze": OFFICE_WRITES,
    "reminders/{pk}/stop": {"post": "200 403 403 401"},
    "reminders/{pk}/resume": {"post": "409 403 403 401"},
    "reminder-rules": OFFICE_READS,
    "reminder-rules/{pk}": OFFICE_READS | {"patch": "200 403 403 401"},
    "documents": STAFF_READS,
    "documents/{pk}": SCOPED,
    "documents/{pk}/pdf": SCOPED,
    "events": OFFICE_READS,
    "events/{pk}": OFFICE_READS,
    "jobs": STAFF_READS,
    "jobs/{pk}": SCOPED,
    "openapi.yaml": EVERYBODY_READS,
    "docs": EVERYBODY_READS,
}
OPEN = {"sign-in", "openapi.yaml", "docs"}
OUTSIDE_OF_THE_API = {
    "", "healthz", "readyz", "admin/", "notices/stop/<uuid:link_id>/<str:code>",
}  # fmt: skip
QUERIES = {
    "zones/{pk}/plan": "?month=7",
    "properties/{pk}/savings": "?change_date=2026-06-01",
    "digging-window": "?notice_date=2026-06-15",
    "weather-stations/{pk}/weather": "?first=2026-06-01&last=2026-06-02",
}
VERBS = ("get", "post", "put", "patch", "delete")


def routes(prefix: str) -> Iterator[str]:
    """Yield the addresses below a prefix as the URL list has them, ids written as {pk}."""
    (included,) = [part for part in get_resolver().url_patterns if str(part.pattern) == prefix]
    for pattern in included.url_patterns:
        yield re.sub(r"<uuid:pk>|\(\?P<pk>[^)]*\)", "{pk}", str(pattern.pattern)).strip("^$")


def test_the_table_names_every_address_of_the_api():
    assert sorted(routes("api/v1/")) == sorted(TABLE)


def test_nothing_else_is_served():
    assert {str(part.pattern) for part in get_resolver().url_patterns} == {
        *OUTSIDE_OF_THE_API, "api/v1/",
    }  # fmt: skip


@pytest.fixture
def ids(visit, zone, office, technician) -> dict[str, Any]:
    """Return the id of one row of each collection; all are of the visited garden or of nobody."""
    garden, row, now = zone.property, cast.ROW, cast.NOW
    station = cast.make_station()
    test = cast.make_catch_test(visit, zone)
    day = WeatherDay.objects.create(station=station, date=cast.TODAY - dt.timedelta(days=9))
    setting = ProgramSetting.objects.create(
        controller=zone.controller, source="found", since=cast.TODAY, **row
    )
    fault = {"fault": "leaning", "zone": zone}
    finding = Finding.objects.create(visit=visit, severity="minor", seen_at=now, **fault, **row)
    ticket = RepairTicket.objects.create(property=garden, work="Mend it.", **fault, **row)
    line = cast.make_ticket_line(ticket)
    plan = WateringPlan.objects.create(
        zone=zone, number=1, station=station, test=test, is_estimated=False, inputs={}, months=[],
        settings_digest="x", **row,
    )  # fmt: skip
    document = Document.objects.create(
        kind="audit_summary", property=garden, visit=visit, number=1, title="Audit",
        content_digest="x", sha256="x", size_bytes=4, pdf=b"%PDF", **row,
    )  # fmt: skip
    frost = NoticeDraft(
        key="frost:1", kind="frost", content=NoticeContent("Frost", "It freezes."),
        customer_id=garden.customer_id, property_id=garden.pk,
    )  # fmt: skip
    queue_notices([frost], now=now)
    notice = Notice.objects.get()
    job = Job.objects.create(
        kind="plans", subject_id=garden.pk, asked_by=technician, created_at=now, due_at=now
    )
    return {
        "staff": office, "customers": garden.customer, "properties": garden, "zones": zone,
        "controllers": zone.controller, "head-groups": cast.make_heads(zone), "visits": visit,
        "catch-tests": test, "program-settings": setting, "findings": finding,
        "repair-tickets": ticket, "ticket-lines": line, "price-items": line.item,
        "licences": cast.make_licence(technician), **rule_rows.one_of_each(),
        "flow-checks": field_rows.make_flow_check(visit, zone),
        "bucket-tests": field_rows.make_bucket_test(visit, zone),
        "emitter-checks": field_rows.make_emitter_check(visit, zone),
        "meter-readings": field_rows.make_meter_reading(visit),
        "symptoms": field_rows.make_symptom(visit, zone),
        "treatments": field_rows.make_treatment(visit, zone),
        "photos": field_rows.make_photo(visit),
        "weather-stations": station, "weather-days": day,
        "weather-files": WeatherFile.objects.create(
            name="days.csv", sha256="x", size_bytes=4, **row
        ),
        "replays": Replay.objects.create(property=garden, asked={"entered": []}, **row),
        "controller-programs": make_fitted(zone.controller),
        "notices": notice, "night-runs": NightRun.objects.create(
            date=cast.TODAY, started_at=now, state="done", ended_at=now
        ),
        **reminder_rows.one_of_each(garden), "watering-plans": plan, "documents": document,
        "events": Event.objects.first(),
        "jobs": job,
    }  # fmt: skip


@pytest.fixture
def people(office_api, technician_api, outsider_api, anonymous_api) -> dict[str, Any]:
    return {
        "office": office_api, "technician": technician_api, "outsider": outsider_api,
        "anonymous": anonymous_api,
    }  # fmt: skip


def address(route: str, pk: Any) -> str:
    return f"/api/v1/{route}".replace("{pk}", str(pk)) + QUERIES.get(route, "")


def ask(api: Any, verb: str, url: str) -> int:
    """Return the status of the answer, and undo what it did."""
    with transaction.atomic():
        status: int = getattr(api, verb)(url, {} if verb != "get" else None).status_code
        transaction.set_rollback(True)
    return status


def expected(route: str, verb: str, person: int) -> set[int]:
    if verb in TABLE[route]:
        return {int(TABLE[route][verb].split()[person])}
    if route in OPEN:
        return {405}
    return {401} if person == 3 else {403, 405}


@pytest.mark.parametrize("route", list(routes("api/v1/")))
def test_each_person_gets_the_answer_of_the_table(people, ids, route):
    row = ids.get(route.split("/", maxsplit=1)[0])
    url = address(route, row.pk if row else "")
    wrong = {
        (verb, name): (status, allowed)
        for verb in VERBS
        for person, (name, api) in enumerate(people.items())
        if (status := ask(api, verb, url)) not in (allowed := expected(route, verb, person))
    }

    assert wrong == {}
    if route not in OPEN:
        assert people["anonymous"].options(url).status_code == 401


@pytest.mark.parametrize("route", [route for route in TABLE if "{pk}" in route])
def test_an_id_that_nobody_has_is_not_found_and_looks_like_a_strangers(people, ids, route):
    row, verb = ids[route.split("/", maxsplit=1)[0]], next(iter(TABLE[route]))
    if TABLE[route][verb].split()[0] == "400":
        return

    office = getattr(people["office"], verb)(address(route, uuid4()))
    assert office.status_code == 404
    if TABLE[route][verb].split()[2] == "404":
        stranger = getattr(people["outsider"], verb)(address(route, row.pk))
        assert stranger.json() == office.json()


def test_a_list_holds_no_row_of_a_stranger(people, ids):
    for route, row in TABLE.items():
        if (
            row.get("get") == STAFF_READS["get"]
            and SCOPED.items() <= TABLE.get(f"{route}/{{pk}}", {}).items()
        ):
            answer = people["outsider"].get(address(route, "")).json()
            assert answer["results"] == [], route


def admin_addresses() -> Iterator[str]:
    """Yield the admin addresses that need no id."""
    yield "/admin/"
    for route in routes("admin/"):
        if re.fullmatch(r"[a-z_/]+/", route) and not route.startswith(
            ("login", "logout", "jsi18n")
        ):
            yield f"/admin/{route}"


@pytest.mark.django_db
@pytest.mark.parametrize("url", list(admin_addresses()))
def test_the_admin_pages_let_nobody_in_but_the_office(technician, url):
    anonymous, by_technician = Client(), Client()
    by_technician.force_login(technician)

    for client in (anonymous, by_technician):
        answer = client.get(url)
        refused = answer.status_code in (302, 405)
        assert refused, (url, answer.status_code)
        if answer.status_code == 302:
            assert "/admin/login/" in answer["Location"]
