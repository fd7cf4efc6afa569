from __future__ import annotations

import uuid

import pytest
from django.test import Client

from properties.models import Company, Customer, Event, Job, JobState, Property, StaffMember
from properties.services.events import record_event
from tests import cast
from tests.properties.admin.forms import (
    add_address,
    address_of,
    errors_of,
    filled_form,
    list_address,
)

pytestmark = pytest.mark.django_db


def make_job(**changes: object) -> Job:
    values = {"kind": "audit-summary", "subject_id": uuid.uuid4(), "state": JobState.PARKED}
    moments = {"created_at": cast.NOW, "due_at": cast.NOW, "ended_at": cast.NOW}
    return Job.objects.create(**{**values, **moments, **changes})


def test_the_company_is_changed_and_never_added_again(office_pages: Client, company: Company):
    form = filled_form(office_pages, address_of(company)) | {"name": "Meadowlark Lawns"}

    office_pages.post(address_of(company), form)

    company.refresh_from_db()
    assert company.name == "Meadowlark Lawns"
    assert office_pages.get(add_address(Company)).status_code == 403
    assert b"Meadowlark Lawns" in office_pages.get("/admin/").content


def test_a_property_takes_the_clock_of_the_company(office_pages: Client, company: Company):
    assert filled_form(office_pages, add_address(Property))["time_zone"] == company.time_zone


def test_half_a_position_is_an_error(office_pages: Client, garden: Property):
    form = filled_form(office_pages, address_of(garden)) | {"longitude": ""}

    page = office_pages.post(address_of(garden), form)

    assert "both latitude and longitude" in errors_of(page)["latitude"][0]
    assert not Event.objects.exists()


def test_a_customer_is_added_without_his_name_in_the_event(office_pages: Client):
    form = filled_form(office_pages, add_address(Customer)) | {"name": "Ada Lindqvist"}

    office_pages.post(add_address(Customer), form)

    event = Event.objects.get(subject_id=Customer.objects.get().pk)
    assert "Lindqvist" not in str(event.after)


def test_events_are_found_by_the_id_of_their_subject(
    office_pages: Client, garden: Property, other_garden: Property
):
    for place in (garden, other_garden):
        record_event(place, act="created", actor=None, now=cast.NOW)

    found = office_pages.get(list_address(Event), {"q": str(garden.pk)}).context["cl"]
    nothing = office_pages.get(list_address(Event), {"q": "not an id"}).context["cl"]

    assert [event.subject_id for event in found.result_list] == [garden.pk]
    assert nothing.result_count == 0


def test_an_event_shows_what_changed_and_escapes_it(office_pages: Client, garden: Property):
    event = record_event(
        garden, act="changed", actor=None, now=cast.NOW,
        before={"city": "Tallgrass"}, after={"city": "<script>alert(1)</script>"},
    )  # fmt: skip

    page = office_pages.get(address_of(event)).content.decode()

    assert "<td>Tallgrass</td><td>&lt;script&gt;alert(1)&lt;/script&gt;</td>" in page


def test_an_event_cannot_be_changed(office_pages: Client, garden: Property):
    event = record_event(garden, act="created", actor=None, now=cast.NOW)

    assert office_pages.post(address_of(event), {"act": "forged"}).status_code == 403


def test_a_parked_job_is_run_again_and_others_are_refused(
    office_pages: Client, office: StaffMember
):
    parked, done = make_job(), make_job(state=JobState.DONE)
    chosen = [str(parked.pk), str(done.pk)]

    page = office_pages.post(
        list_address(Job), {"action": "run_again", "_selected_action": chosen}, follow=True
    )

    parked.refresh_from_db()
    done.refresh_from_db()
    assert (parked.state, done.state) == (JobState.WAITING, JobState.DONE)
    assert [message.level_tag for message in page.context["messages"]] == ["error", "success"]
    event = Event.objects.get(act="run again")
    assert (event.subject_id, event.actor) == (parked.pk, office)
