"""A client who is erased is found nowhere any more; what was measured at his place stays."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import models

from audits.models import CatchTest, Finding, Photo, RepairTicket, TicketProof, Visit, VisitState
from properties.domain.errors import RefusedError
from properties.models import Customer, ErasureReason, Event, Import, Property
from properties.services.erasure import erase_customer
from properties.services.rows import add_row, change_row
from reports.models import ClientLink, Document
from reports.services import notice_sheets
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import Notice, Reminder
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast
from tests.audits import field_rows
from tests.scheduling.reminder_rows import make_reminder

SECRET = "Quillfeather"


@pytest.fixture
def client(company, office) -> Customer:
    """A client whose every personal value holds one odd word, entered as the office does."""
    values = {
        "name": f"Ada {SECRET}", "email": f"ada@{SECRET}.example", "phone": f"555 {SECRET}",
        "reference": f"R-{SECRET}", "consent_note": f"by telephone, {SECRET}",
        "wants_notices": True,
    }  # fmt: skip
    customer = add_row(Customer, values, actor=office, now=cast.NOW)
    where = {
        "customer": customer, "name": f"{SECRET} garden", "street": f"9 {SECRET} Lane",
        "house_number": "9", "city": "Tallgrass", "postal_code": SECRET,
        "access_notes": f"gate code {SECRET}", "animals": f"dog {SECRET}",
        "latitude": 40.4261, "longitude": -101.7049,
        "time_zone": "America/Chicago",
    }  # fmt: skip
    garden = add_row(Property, where, actor=office, now=cast.NOW)
    change_row(garden, {"access_notes": f"key at {SECRET}"}, actor=office, now=cast.NOW)
    return customer


@pytest.fixture
def told(client, technician, office) -> Customer:
    """The same after a visit: tests, words and pictures, a notice with its sheet, a document."""
    garden, row = client.properties.get(), cast.ROW
    zone = cast.make_zone(cast.make_controller(garden, where=f"behind {SECRET}'s shed"))
    visit = cast.make_visit_under_way(garden, technician, notes=f"met {SECRET}")
    cast.make_catch_test(visit, zone, voided_at=cast.NOW, void_reason=f"{SECRET} moved a cup")
    cast.make_catch_test(visit, zone)
    finding = {"fault": "leaning", "zone": zone, "visit": visit, "severity": "minor"}
    note = {"note": f"{SECRET} says so", "seen_at": cast.NOW}
    add_row(Finding, {**finding, **note}, actor=technician, now=cast.NOW)
    field_rows.make_symptom(visit, zone, note=f"{SECRET} mowed it")
    field_rows.make_meter_reading(visit, note=f"by {SECRET}")
    field_rows.make_photo(visit, caption=f"{SECRET} at the gate", jpeg=f"pixels {SECRET}".encode())
    ticket = cast.make_ticket(garden, state="declined", closing_word=SECRET)
    RepairTicket.objects.filter(pk=ticket.pk).update(agreed_by=SECRET, agreed_at=cast.NOW)
    TicketProof.objects.create(
        ticket=ticket, visit=visit, kind="function_check", seen_at=cast.NOW, fault_is_gone=True,
        note=SECRET, **row,
    )  # fmt: skip
    Visit.objects.update(state=VisitState.FINISHED, finished_at=cast.NOW)
    content = NoticeContent("Water less", f"Dear {SECRET}", has_sheet=True)
    draft = NoticeDraft(
        key="monthly:1", kind="monthly", content=content, customer_id=client.pk,
        property_id=garden.pk,
    )  # fmt: skip
    queue_notices([draft], now=cast.NOW)
    Document.objects.create(
        kind="audit_summary", property=garden, visit=visit, number=1, title=f"Audit at {SECRET}",
        content_digest="x", sha256="ab", size_bytes=9, pdf=f"%PDF {SECRET}".encode(), **row,
    )  # fmt: skip
    ClientLink.objects.create(customer=client, purpose="stop_notices", created_at=cast.NOW)
    make_reminder(garden, what=f"{SECRET} agrees")
    return client


def erase(customer: Customer, actor: Any) -> Customer:
    return erase_customer(customer, reason=ErasureReason.ASKED, actor=actor, now=cast.NOW)


def traces() -> Iterator[str]:
    """Yield each field of any table that still holds the odd word."""
    for model in apps.get_models():
        for row in model._default_manager.order_by().values():
            for name, value in row.items():
                text = bytes(value).decode("latin-1") if is_bytes(value) else str(value)
                if SECRET.lower() in text.lower():
                    yield f"{model._meta.label}.{name}"


def is_bytes(value: object) -> bool:
    return isinstance(value, bytes | memoryview)


def test_the_odd_word_stands_wherever_a_person_may_write_it(told):
    """So that its absence means something; and events never held it."""
    assert {trace.split(".")[0] for trace in traces()} == {
        "properties", "audits", "scheduling", "reports"
    }  # fmt: skip
    assert len(set(traces())) == 25
    assert "properties.Event.after" not in set(traces())


def test_nothing_tells_who_he_was(told, office):
    erase(told, office)

    assert sorted(set(traces())) == []


def test_what_was_measured_stays(told, office):
    erase(told, office)

    garden = told.properties.get()
    assert CatchTest.objects.count() == 2
    assert garden.zones.get().area_m2 == 200.0
    assert (garden.city, garden.latitude, garden.longitude) == ("Tallgrass", 40.4, -101.7)
    assert Photo.objects.get().width_px == 1
    assert Document.objects.get().sha256 == "ab"
    assert RepairTicket.objects.get().agreed_by == "Erased client"


def test_the_act_is_remembered_and_not_what_was_erased(told, office):
    erased = erase(told, office)

    assert erased.erased_at == cast.NOW
    event = Event.objects.get(act="erased", subject_id=told.pk)
    assert event.actor == office
    assert event.after["erased_for"] == "asked"
    assert event.before["email"] == "(not kept)"


def test_a_second_time_changes_nothing(told, office):
    erase(told, office)
    events, revision = Event.objects.count(), Customer.objects.get(pk=told.pk).revision

    again = erase(told, office)

    assert (Event.objects.count(), again.revision) == (events, revision)


def test_his_reminders_stop_and_his_links_end(told, office):
    erase(told, office)

    assert Reminder.objects.get().state == "stopped"
    assert ClientLink.objects.get().revoked_at == cast.NOW


def test_a_sheet_that_was_being_rendered_is_not_kept(told, office):
    notice = Notice.objects.get()
    pdf = notice_sheets.render_sheet(notice.pk, cast.NOW)
    assert pdf

    erase(told, office)
    notice_sheets.store_sheet(notice.pk, cast.NOW, pdf)

    assert not Document.objects.filter(notice=notice).exists()


@pytest.mark.parametrize(
    ("open_thing", "code"), [("visit", "visit-open"), ("ticket", "ticket-open")]
)
def test_who_is_still_to_be_served_is_not_erased(told, office, technician, open_thing, code):
    garden = told.properties.get()
    if open_thing == "visit":
        cast.make_visit(garden, technician)
    else:
        cast.make_ticket(garden)
    before = sorted(set(traces()))

    with pytest.raises(RefusedError) as refusal:
        erase(told, office)

    assert refusal.value.code == code
    assert sorted(set(traces())) == before


def test_reports_of_files_name_him_no_more_and_a_file_that_waits_is_seen_to_first(told, office):
    sheet = Import.objects.create(
        kind="zones", name="x.csv", size_bytes=1, state="looked_at", **cast.ROW
    )
    line = sheet.lines.create(
        row=2, outcome="refused", reference=f"{told.reference} / P-1 / 3",
        faults=[{"detail": f"{told.reference} is twice"}],
    )  # fmt: skip
    other = sheet.lines.create(row=3, outcome="made", reference=f"{told.reference}0 / P-2")

    with pytest.raises(RefusedError) as refusal:
        erase(told, office)
    assert refusal.value.code == "import-open"

    Import.objects.update(state="written", ended_at=cast.NOW)
    reference = told.reference
    erase(told, office)
    line.refresh_from_db()
    other.refresh_from_db()
    assert (line.reference, line.faults) == ("(erased)", [])
    assert other.reference == f"{reference}0 / P-2"


def test_another_client_is_left_alone(told, office):
    other = cast.make_customer(name="Ben Okafor", email="ben@okafor.example")
    garden = cast.make_property(other, access_notes="left gate")

    erase(told, office)

    other.refresh_from_db()
    garden.refresh_from_db()
    assert (other.name, other.email) == ("Ben Okafor", "ben@okafor.example")
    assert (garden.street, garden.access_notes) == ("48 Kiln Street", "left gate")


# Tables with no word of a client: of the company, its staff, its rules, its weather, its machinery.
OF_NOBODY = {
    "AccessToken", "BucketTest", "Company", "ControllerProgram", "DroughtStage", "EmitterCheck",
    "FlowCheck", "ForecastDocument", "ForecastFetch", "HeadGroup", "Heartbeat", "IdempotencyKey",
    "Job", "Licence",
    "NightSlice", "ObservationFetch", "PriceItem", "RecoveryCode", "SettingProgram", "SignInCount",
    "StaffMember", "StationCalibration", "Treatment", "WaterBudget", "WateringDistrict",
    "WateringPlan", "WateringRule", "WeatherFile", "WeatherFilePart", "WeatherStation", "Zone",
}  # fmt: skip
# Fields that stay: what was measured or seen, where the town is, and digests of what is gone.
STAYS = {
    "CatchTest.entered", "Controller.name", "Controller.reference", "Document.content_digest",
    "Document.sha256", "Event.act", "Event.after", "Event.before", "Event.device",
    "Event.subject_kind", "Finding.where", "MeterReading.entered", "Notice.content_digest",
    "Notice.key", "Notice.language", "Notice.message_id", "Notice.reason", "Notice.sheet_sha256",
    "Photo.source_sha256", "Property.city", "Property.entered", "Property.region",
    "Property.time_zone", "Reminder.key", "RepairTicket.work", "Replay.answer", "Replay.asked",
}  # fmt: skip
# Erased too, or with the file that they came in; other tests say so.
ERASED_TOO = {
    "Customer.refused_address_sha256", "Property.house_number", "Property.reference", "Import.name",
    "Import.report", "Import.said", "Import.sha256", "ImportLine.changes", "ImportLine.faults",
    "ImportLine.reference", "ImportPart.content",
}  # fmt: skip


def free_words() -> Iterator[str]:
    """Yield the text fields without choices of the product's tables that may speak of a client."""
    kinds = models.CharField | models.TextField | models.JSONField | models.BinaryField
    for model in apps.get_models():
        is_ours = model._meta.app_label in ("properties", "audits", "scheduling", "reports")
        if not is_ours or model.__name__ in OF_NOBODY:
            continue
        for field in model._meta.concrete_fields:
            if isinstance(field, kinds) and not field.choices and not field.is_relation:
                yield f"{model.__name__}.{field.name}"


def test_every_text_field_is_erased_or_is_known_to_say_nothing_of_a_client(told):
    """A new one fails here until somebody has thought of it."""
    found = {trace.split(".", maxsplit=1)[1] for trace in traces()}

    assert set(free_words()) - found - ERASED_TOO == STAYS
