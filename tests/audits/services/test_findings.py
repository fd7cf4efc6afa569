"""From what was found to tickets."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.exceptions import ValidationError

from audits.domain.faults import FAULTS, FaultKind
from audits.models import Finding, RepairTicket
from audits.services.findings import record_finding
from audits.services.tickets import open_ticket, open_tickets_of_visit
from audits.services.visits import finish_visit
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Event
from tests import cast


def find(visit, technician, zone=None, **changes):
    values = {"fault": "leaning", "severity": "major", "zone": zone, "visit": visit}
    return record_finding({**values, **changes}, actor=technician, now=cast.NOW)


def test_a_finding_is_seen_now_unless_it_says_when(visit, technician, zone):
    earlier = cast.NOW - dt.timedelta(hours=2)

    assert find(visit, technician, zone).seen_at == cast.NOW
    assert find(visit, technician, zone, seen_at=earlier).seen_at == earlier


def test_finish_opens_one_ticket_for_each_fault_in_each_zone(visit, technician, zone, controller):
    second = cast.make_zone(controller, number=2, name="Back lawn")
    twice = [find(visit, technician, zone), find(visit, technician, zone, count=3)]
    others = [
        find(visit, technician, second),
        find(visit, technician, zone, fault="runoff"),
        find(visit, technician, fault="no_working_rain_sensor"),
    ]

    finish_visit(visit, actor=technician, now=cast.NOW)

    tickets = {
        (ticket.zone_id, ticket.fault, ticket.state): ticket
        for ticket in RepairTicket.objects.all()
    }
    assert tickets.keys() == {
        (zone.pk, "leaning", "open"),
        (second.pk, "leaning", "open"),
        (zone.pk, "runoff", "open"),
        (None, "no_working_rain_sensor", "open"),
    }
    assert {ticket.property_id for ticket in tickets.values()} == {visit.property_id}
    stored = {each.pk: each.ticket for each in Finding.objects.all()}
    assert {stored[each.pk] for each in twice} == {tickets[zone.pk, "leaning", "open"]}
    assert all(stored[each.pk] for each in others)
    assert tickets[zone.pk, "runoff", "open"].work == FAULTS[FaultKind.RUNOFF].repair


@pytest.mark.parametrize("state", ["open", "agreed", "booked"])
def test_a_live_ticket_takes_the_finding(visit, technician, zone, state):
    ticket = cast.make_ticket(visit.property, zone=zone, visit=visit, state=state)
    finding = find(visit, technician, zone)

    finish_visit(visit, actor=technician, now=cast.NOW)

    finding.refresh_from_db()
    assert finding.ticket == ticket
    assert RepairTicket.objects.count() == 1


@pytest.mark.parametrize("state", ["mended", "proven", "declined", "void"])
def test_a_ticket_that_is_over_does_not(visit, technician, zone, state):
    ticket = cast.make_ticket(visit.property, zone=zone, visit=visit, state=state)
    finding = find(visit, technician, zone)

    finish_visit(visit, actor=technician, now=cast.NOW)

    finding.refresh_from_db()
    assert finding.ticket not in (None, ticket)


def test_the_ticket_of_one_property_is_not_that_of_another(visit, technician, other_garden, office):
    elsewhere = open_ticket(
        {"property": other_garden, "fault": "wiring"}, actor=office, now=cast.NOW
    )
    finding = find(visit, technician, fault="wiring")

    finish_visit(visit, actor=technician, now=cast.NOW)

    finding.refresh_from_db()
    assert finding.ticket not in (None, elsewhere)


def test_what_was_mended_on_the_spot_needs_no_ticket(visit, technician, zone):
    find(visit, technician, zone, mended_on_the_spot=True)

    finish_visit(visit, actor=technician, now=cast.NOW)

    assert not RepairTicket.objects.exists()


def test_opening_tickets_twice_opens_them_once(visit, technician, zone):
    find(visit, technician, zone)

    first = open_tickets_of_visit(visit, actor=technician, now=cast.NOW)
    again = open_tickets_of_visit(visit, actor=technician, now=cast.NOW)

    assert len(first) == RepairTicket.objects.count() == 1
    assert again == []
    assert Event.objects.filter(act="put on a ticket").count() == 1


def test_a_finding_that_comes_after_the_end_gets_its_ticket_at_once(visit, technician, zone):
    visit = finish_visit(visit, actor=technician, now=cast.NOW)

    late = find(visit, technician, zone)

    assert late.ticket == RepairTicket.objects.get()


def test_refuses_a_finding_of_the_future_by_its_own_field(visit, technician, zone):
    within, beyond = (cast.NOW + dt.timedelta(hours=24, minutes=m) for m in (0, 1))
    find(visit, technician, zone, seen_at=within)

    with pytest.raises(InvalidInputError) as refusal:
        find(visit, technician, zone, seen_at=beyond)

    assert (refusal.value.field, refusal.value.code) == ("seen_at", "future")


@pytest.mark.parametrize(
    ("state", "remedy"),
    [
        ("planned", "Start the visit, then record."),
        ("missed", "Plan another visit, start it, then record."),
        ("called_off", "Plan another visit, start it, then record."),
    ],
)
def test_refuses_a_finding_of_a_visit_that_never_began(garden, technician, state, remedy):
    visit = cast.make_visit(garden, technician, state=state)

    with pytest.raises(RefusedError) as refusal:
        find(visit, technician)

    assert (refusal.value.code, refusal.value.remedy) == ("visit-state", remedy)
    assert not Finding.objects.exists()


def test_the_office_may_record_for_a_technician_and_another_technician_not(visit, office, outsider):
    find(visit, office)

    with pytest.raises(RefusedError) as refusal:
        find(visit, outsider)

    assert (refusal.value.code, refusal.value.field) == ("not-your-visit", "visit")
    assert Finding.objects.count() == 1


def test_refuses_a_zone_of_another_property(visit, technician, other_garden, office):
    strange = cast.make_zone(cast.make_controller(other_garden))

    with pytest.raises(InvalidInputError, match="another property"):
        find(visit, technician, strange)
    with pytest.raises(InvalidInputError, match="another property"):
        open_ticket(
            {"property": visit.property, "zone": strange, "fault": "runoff"},
            actor=office, now=cast.NOW,
        )  # fmt: skip


def test_a_fault_has_one_live_ticket_in_a_zone_and_one_at_the_property(garden, zone, office):
    for place in ({"zone": zone}, {}):
        values = {"property": garden, "fault": "wiring", **place}
        open_ticket(values, actor=office, now=cast.NOW)

        with pytest.raises(ValidationError, match="has a live ticket"):
            open_ticket(values, actor=office, now=cast.NOW)

    assert RepairTicket.objects.count() == 2


def test_a_ticket_says_what_it_is_told_to(garden, office):
    values = {"property": garden, "fault": "wiring", "work": "Dig up the splice by the gate."}

    assert open_ticket(values, actor=office, now=cast.NOW).work == values["work"]
