from __future__ import annotations

import pytest
from django.test import Client

from audits.models import CatchTest, Finding, RepairTicket, Visit, VisitState
from properties.models import Event, Property, StaffMember, Zone
from tests import cast
from tests.properties.admin.forms import (
    add_address,
    address_of,
    errors_of,
    filled_form,
    list_address,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned(garden: Property, technician: StaffMember) -> Visit:
    return cast.make_visit(garden, technician)


def move(client: Client, act: str, *visits: Visit):
    chosen = [str(visit.pk) for visit in visits]
    data = {"action": act, "_selected_action": chosen}
    return client.post(list_address(Visit), data, follow=True)


def test_a_visit_is_planned_through_the_service(
    office_pages: Client, garden: Property, technician: StaffMember
):
    form = filled_form(office_pages, add_address(Visit)) | {
        "property": str(garden.pk), "technician": str(technician.pk), "planned_date": "2026-06-20",
    }  # fmt: skip

    office_pages.post(add_address(Visit), form)

    visit = Visit.objects.get()
    assert visit.state == VisitState.PLANNED
    assert Event.objects.get(subject_id=visit.pk).act == "planned"


def test_only_working_technicians_are_offered(
    office_pages: Client, office: StaffMember, technician: StaffMember, outsider: StaffMember
):
    StaffMember.objects.filter(pk=outsider.pk).update(is_active=False)

    form = office_pages.get(add_address(Visit)).context["adminform"].form

    assert list(form.fields["technician"].queryset) == [technician]


def test_a_planned_visit_can_be_put_off_and_keeps_its_technician_who_left(
    office_pages: Client, planned: Visit, technician: StaffMember
):
    StaffMember.objects.filter(pk=technician.pk).update(is_active=False)
    form = filled_form(office_pages, address_of(planned)) | {"planned_date": "2026-06-21"}

    answer = office_pages.post(address_of(planned), form)

    planned.refresh_from_db()
    assert (answer.status_code, str(planned.planned_date)) == (302, "2026-06-21")


def test_a_visit_under_way_is_open_to_notes_alone(office_pages: Client, visit: Visit):
    form = filled_form(office_pages, address_of(visit))
    form |= {"notes": "Gate was locked.", "planned_date": "2030-01-01", "state": "finished"}

    office_pages.post(address_of(visit), form)

    visit.refresh_from_db()
    assert (visit.notes, visit.planned_date) == ("Gate was locked.", cast.TODAY)
    assert visit.state == VisitState.UNDER_WAY


@pytest.mark.parametrize(
    ("act", "state"), [("call_off", VisitState.CALLED_OFF), ("miss", VisitState.MISSED)]
)
def test_planned_visits_are_moved_and_others_are_refused(
    office_pages: Client, office: StaffMember, planned: Visit, visit: Visit, act: str, state: str
):
    page = move(office_pages, act, planned, visit)

    planned.refresh_from_db()
    visit.refresh_from_db()
    levels = {message.level_tag for message in page.context["messages"]}
    assert (planned.state, visit.state) == (state, VisitState.UNDER_WAY)
    assert levels == {"error", "success"}
    assert Event.objects.get(subject_id=planned.pk).actor == office


def test_the_propertys_page_shows_its_newest_visits(
    office_pages: Client, garden: Property, technician: StaffMember
):
    for _ in range(11):
        cast.make_visit(garden, technician)

    inlines = office_pages.get(address_of(garden)).context["inline_admin_formsets"]

    shown = next(inline for inline in inlines if inline.opts.model is Visit)
    assert len(shown.formset.forms) == 10


def test_measured_facts_cannot_be_changed(office_pages: Client, visit: Visit, zone: Zone):
    test = cast.make_catch_test(visit, zone)
    finding = Finding.objects.create(
        visit=visit, zone=zone, fault="runoff", severity="major", seen_at=cast.NOW, **cast.ROW
    )

    answers = [
        office_pages.post(address_of(test), {"rate_mm_h": "1"}),
        office_pages.post(add_address(CatchTest), {"rate_mm_h": "1"}),
        office_pages.post(address_of(finding), {"severity": "minor"}),
    ]

    assert [answer.status_code for answer in answers] == [403, 403, 403]
    assert CatchTest.objects.get().rate_mm_h == 40.0


def test_the_visits_page_changes_no_fact_that_it_shows(
    office_pages: Client, visit: Visit, zone: Zone
):
    cast.make_catch_test(visit, zone)
    form = filled_form(office_pages, address_of(visit))
    form |= {"catch_tests-0-cups": "99", "catch_tests-0-DELETE": "on", "notes": "x"}

    office_pages.post(address_of(visit), form)

    assert CatchTest.objects.get().cups == 12


def test_a_catch_test_shows_its_cups_and_its_zone(office_pages: Client, visit: Visit, zone: Zone):
    page = office_pages.get(address_of(cast.make_catch_test(visit, zone)))

    content = page.content.decode()
    assert len(page.context["inline_admin_formsets"][0].formset.forms) == 12
    assert address_of(zone) in content
    assert "34 and 46" in content


def test_a_ticket_takes_the_usual_repair_and_opens_once(
    office_pages: Client, garden: Property, zone: Zone
):
    form = filled_form(office_pages, add_address(RepairTicket)) | {
        "property": str(garden.pk), "zone": str(zone.pk), "fault": "runoff",
    }  # fmt: skip

    office_pages.post(add_address(RepairTicket), form)
    page = office_pages.post(add_address(RepairTicket), form)

    ticket = RepairTicket.objects.get()
    assert ticket.work
    assert Event.objects.get(subject_id=ticket.pk).act == "opened"
    assert "live ticket" in errors_of(page)["fault"][0]


def test_a_ticket_of_another_propertys_zone_is_an_error_at_the_zone(
    office_pages: Client, other_garden: Property, zone: Zone
):
    form = {"property": str(other_garden.pk), "zone": str(zone.pk), "fault": "runoff", "work": ""}
    form = filled_form(office_pages, add_address(RepairTicket)) | form

    page = office_pages.post(add_address(RepairTicket), form)

    assert "another property" in errors_of(page)["zone"][0]
    assert not RepairTicket.objects.exists()


def test_only_the_work_of_a_ticket_can_be_put_otherwise(
    office_pages: Client, garden: Property, zone: Zone
):
    ticket = RepairTicket.objects.create(
        property=garden, zone=zone, fault="runoff", work="x", **cast.ROW
    )
    form = filled_form(office_pages, address_of(ticket))

    office_pages.post(address_of(ticket), form | {"work": "Regrade.", "state": "void"})

    ticket.refresh_from_db()
    assert (ticket.work, ticket.state) == ("Regrade.", "open")
