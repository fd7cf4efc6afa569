"""A row of each collection of the API: all are of one garden, or of nobody."""

from __future__ import annotations

import datetime as dt
from typing import Any

from audits.models import Finding, ProgramSetting, RepairTicket
from properties.models import Event, Import, Job, StaffMember
from properties.services.sign_in import issue_token
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


def rows_by_collection(office: StaffMember, technician: StaffMember) -> dict[str, Any]:
    """Make one row of each collection; the technician is on a visit there."""
    zone = cast.make_zone(cast.make_controller(cast.make_property()))
    visit = cast.make_visit_under_way(zone.property, technician)
    return rows_around(visit, zone, office, technician)


def rows_around(visit: Any, zone: Any, office: StaffMember, technician: StaffMember) -> Any:
    """Return one row of each collection; all are of the visited garden or of nobody."""
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
        "tokens": issue_token(office, label="x", actor=office, now=now)[0],
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
        "imports": Import.objects.create(kind="zones", name="x", size_bytes=4, **row),
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
