"""The whole office: every registered page opens, for the office alone, at a constant cost."""

from __future__ import annotations

import datetime as dt
import hashlib
import uuid
from typing import Any

import pytest
from django.contrib import admin
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from audits.models import (
    Finding,
    PriceItem,
    ProgramSetting,
    RepairTicket,
    SettingProgram,
    SettingRun,
    TicketLine,
    TicketProof,
)
from properties.models import DroughtStage, Import, Job, Licence, Property, Row, StaffMember, Zone
from properties.services.events import record_event
from properties.services.sign_in import issue_token
from reports.models import Document
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import (
    ControllerProgram,
    ForecastDay,
    ForecastDocument,
    ForecastFetch,
    ObservationFetch,
    Replay,
    WateringPlan,
    WeatherDay,
    WeatherFile,
    WeatherStation,
)
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast
from tests.audits import field_rows
from tests.conftest import pages_of
from tests.properties import rule_rows
from tests.properties.admin.forms import add_address, address_of, list_address
from tests.scheduling import reminder_rows

pytestmark = pytest.mark.django_db
MODELS = sorted(admin.site._registry, key=lambda model: model._meta.label)
each_model = pytest.mark.parametrize("model", MODELS, ids=lambda model: model._meta.label)
MONTH = {
    "minutes": 42, "waterings_per_day": 1, "cycles": 3, "cycle_min": 14, "soak_min": 44,
    "weekly_gross_mm": 51.1, "weekdays": None, "days_between": 1,
}  # fmt: skip
REST = {"minutes": 0}
FAULT = {"cell": "C2", "column": "Area", "detail": "No number.", "remedy": "Write one."}


def make_document(visit: Any, number: int, pdf: bytes = b"%PDF-1.4 x") -> Document:
    digest = hashlib.sha256(pdf).hexdigest()
    return Document.objects.create(
        kind="audit_summary", property=visit.property, visit=visit, number=number, title="Audit",
        content_digest=digest, sha256=digest, size_bytes=len(pdf), pdf=pdf, **cast.ROW,
    )  # fmt: skip


def make_plan(zone: Zone, number: int = 1) -> WateringPlan:
    station = WeatherStation.objects.first() or cast.make_station()
    months = [{**(REST if month == 1 else MONTH), "month": month} for month in range(1, 13)]
    return WateringPlan.objects.create(
        zone=zone, number=number, station=station, is_estimated=True, inputs={}, months=months,
        settings_digest="x", **cast.ROW,
    )  # fmt: skip


def make_forecast(station: WeatherStation, number: int) -> None:
    document = ForecastDocument.objects.create(
        station=station, style="daily_arrays", issued_at=cast.NOW, retrieved_at=cast.NOW,
        body="{}", digest=str(number),
    )  # fmt: skip
    ForecastDay.objects.create(
        station=station, document=document, date=dt.date(2026, 6, 30) + dt.timedelta(number)
    )
    ForecastFetch.objects.create(
        station=cast.make_station(code=f"ZZFORE{number:05}"), tried_at=cast.NOW
    )
    ObservationFetch.objects.create(
        station=WeatherStation.objects.get(code=f"ZZFORE{number:05}"), tried_at=cast.NOW
    )


def make_one_more_of_everything(number: int) -> None:
    """Add a row of every kind to the same property, and a second property."""
    office, technician = StaffMember.objects.order_by("joined_at")[:2]
    garden, station = Property.objects.order_by("created_at")[0], WeatherStation.objects.first()
    cast.make_property(name=f"Garden {number}")
    stage = rule_rows.one_of_each(number)["drought-stages"]
    first = stage if number == 1 else DroughtStage.objects.order_by("created_at", "pk")[0]
    rule_rows.make_rule(first.district, stage=first)
    rule_rows.make_budget(first.district)
    rule_rows.make_period(first)
    cast.make_technician(f"t{number}@meadowlark.example")
    controller = cast.make_controller(garden, name=f"Box {number}")
    zone = cast.make_zone(controller, number=number)
    cast.make_heads(zone)
    visit = cast.make_visit_under_way(garden, technician)
    for each_zone in Zone.objects.all():
        cast.make_catch_test(visit, each_zone)
        Finding.objects.create(
            visit=visit, zone=each_zone, fault="runoff", severity="major", seen_at=cast.NOW,
            **cast.ROW,
        )  # fmt: skip
    field_rows.make_flow_check(visit, zone)
    field_rows.make_bucket_test(visit, zone)
    field_rows.make_emitter_check(visit, zone)
    read_at = cast.NOW + dt.timedelta(hours=number)
    field_rows.make_meter_reading(visit, read_at=read_at)
    field_rows.make_symptom(visit, zone)
    field_rows.make_treatment(visit, zone)
    field_rows.make_photo(visit)
    ticket = RepairTicket.objects.create(
        property=garden, zone=zone, fault="leaning", work="x", **cast.ROW
    )
    Finding.objects.filter(zone=zone).update(ticket=ticket)
    item = PriceItem.objects.create(
        code=f"P{number}", name="Nozzle", kind="part", unit="piece", price=4, **cast.ROW
    )
    TicketLine.objects.create(ticket=ticket, item=item, quantity=2, unit_price=4, **cast.ROW)
    TicketProof.objects.create(
        ticket=ticket, visit=visit, kind="function_check", seen_at=cast.NOW,
        fault_is_gone=True, note="Tried.",
        **cast.ROW,
    )  # fmt: skip
    Licence.objects.create(
        staff=technician, kind="irrigation", number=str(number), valid_from=cast.TODAY,
        valid_until=cast.TODAY,
    )  # fmt: skip
    setting = ProgramSetting.objects.create(
        controller=controller, visit=visit, source="found", since=cast.TODAY, **cast.ROW
    )
    program = SettingProgram.objects.create(
        setting=setting, name="A", weekdays=[0, 6], starts=["05:00"]
    )
    SettingRun.objects.create(program=program, zone=zone, run_min=9)
    station = station or cast.make_station()
    WeatherDay.objects.create(
        station=station, date=dt.date(2025, 12, 31) + dt.timedelta(number), rain_mm=1
    )
    make_forecast(station, number)
    WeatherFile.objects.create(name=f"{number}.csv", sha256=str(number), size_bytes=9, **cast.ROW)
    sheet = Import.objects.create(kind="zones", name=f"{number}.csv", size_bytes=9, **cast.ROW)
    sheet.lines.create(row=2, outcome="refused", faults=[FAULT])
    Replay.objects.create(property=garden, asked={"entered": []}, **cast.ROW)
    make_plan(zone)
    ControllerProgram.objects.create(
        controller=controller, number=1, month=6, inputs={}, programs=[], unmet=[], cost=0.0,
        gap=0.0, settings_digest="x", **cast.ROW,
    )  # fmt: skip
    make_document(visit, number)
    reminder_rows.one_of_each(garden, number)
    queue_notices([NoticeDraft(
        key=f"frost:{number}", kind="frost", content=NoticeContent("Frost", "It freezes."),
        customer_id=garden.customer_id, property_id=garden.pk,
    )], now=cast.NOW)  # fmt: skip
    issue_token(technician, label="phone", actor=office, now=cast.NOW)
    record_event(garden, act="changed", actor=office, now=cast.NOW)
    Job.objects.create(
        kind=f"k{number}", subject_id=uuid.uuid4(), created_at=cast.NOW, due_at=cast.NOW
    )


@pytest.fixture
def everything(office: StaffMember, technician: StaffMember, garden: Property) -> None:
    make_one_more_of_everything(1)


def queries_of(client: Client, address: str) -> int:
    client.get(address)  # content types are read once in a process
    with CaptureQueriesContext(
        connection,
    ) as queries:
        assert client.get(address).status_code == 200
    return len(queries)


@each_model
@pytest.mark.usefixtures("everything")
def test_the_office_opens_every_list_and_row(office_pages: Client, model: Any):
    row = model._default_manager.first()

    assert office_pages.get(list_address(model)).status_code == 200
    assert office_pages.get(list_address(model), {"q": "x"}).status_code == 200
    assert office_pages.get(address_of(row)).status_code == 200


@each_model
def test_an_add_page_opens_or_is_not_offered(office_pages: Client, model: Any):
    is_offered = admin.site._registry[model].has_add_permission(office_pages.get("/").wsgi_request)

    assert office_pages.get(add_address(model)).status_code == (200 if is_offered else 403)


@each_model
@pytest.mark.usefixtures("everything")
def test_the_number_of_queries_does_not_grow_with_the_rows(office_pages: Client, model: Any):
    row = model._default_manager.order_by("pk").first()
    addresses = list_address(model), address_of(row)
    before = [queries_of(office_pages, address) for address in addresses]

    for number in (2, 3, 4):
        make_one_more_of_everything(number)

    assert [queries_of(office_pages, address) for address in addresses] == before


@each_model
@pytest.mark.usefixtures("everything")
def test_nothing_can_be_deleted(office_pages: Client, model: Any):
    row = model._default_manager.first()
    chosen = {"action": "delete_selected", "_selected_action": str(row.pk), "post": "yes"}

    page = office_pages.get(address_of(row)).content.decode()
    answer = office_pages.post(address_of(row).replace("change", "delete"), {"post": "yes"})
    office_pages.post(list_address(model), chosen)

    assert "deletelink" not in page
    assert "delete_selected" not in office_pages.get(list_address(model)).content.decode()
    assert answer.status_code == 403
    assert model._default_manager.filter(pk=row.pk).exists()


@each_model
@pytest.mark.usefixtures("everything")
def test_a_technician_and_a_stranger_are_sent_to_the_door(technician: StaffMember, model: Any):
    insider, row = pages_of(technician), model._default_manager.first()

    for client in (insider, Client()):
        for address in (list_address(model), add_address(model), address_of(row)):
            assert client.get(address)["Location"].startswith("/admin/login/")
            assert client.post(address, {})["Location"].startswith("/admin/login/")


def test_every_business_row_has_its_page_or_stands_on_its_owners():
    inlines = {inline.model for page in admin.site._registry.values() for inline in page.inlines}

    rows = {model for model in _subclasses(Row) if not model._meta.abstract}
    assert rows <= set(admin.site._registry) | inlines


def _subclasses(model: type) -> set[Any]:
    return set(model.__subclasses__()) | {
        deeper for child in model.__subclasses__() for deeper in _subclasses(child)
    }
