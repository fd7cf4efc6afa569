"""Mended tickets that nobody has looked at since make themselves known."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import RepairTicket, TicketProof
from tests import cast
from tests.problems import pointers

URL = "/api/v1/repair-tickets"
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def dry(visit, zone):
    """A dry spot was mended: only a catch test at the old places can tell."""
    return cast.make_ticket(
        visit.property, zone=zone, fault="dry_spot", state="mended", visit=visit
    )


def make_proof(ticket, *, seen_at=cast.NOW + HOUR, **changes):
    values = {"kind": "function_check", "note": "Ran it.", "fault_is_gone": False, **cast.ROW}
    return TicketProof.objects.create(
        ticket=ticket, visit=ticket.visit, seen_at=seen_at, **{**values, **changes}
    )


def awaited(api, ticket):
    return api.get(f"{URL}/{ticket.pk}").json()["awaits_proof"]


def found(api, query):
    return [row["id"] for row in api.get(f"{URL}?{query}").json()["results"]]


def test_a_fault_that_must_be_measured_awaits_its_paired_retest(technician_api, dry):
    assert awaited(technician_api, dry) == ["paired_retest"]
    assert found(technician_api, "awaits_proof=true") == [str(dry.pk)]
    assert found(technician_api, "awaits_proof=false") == []


def test_every_proof_of_which_one_is_enough_is_told(technician_api, dry):
    RepairTicket.objects.update(fault="weak_pressure")

    assert awaited(technician_api, dry) == ["paired_retest", "reading"]


@pytest.mark.parametrize("gone", [True, False])
def test_what_was_seen_since_awaits_nothing(technician_api, dry, gone):
    make_proof(dry, fault_is_gone=gone)

    assert awaited(technician_api, dry) is None
    assert found(technician_api, "awaits_proof=true") == []
    assert found(technician_api, "awaits_proof=false") == [str(dry.pk)]


def test_a_proof_from_before_the_work_was_done_again_counts_no_more(technician_api, dry):
    make_proof(dry, seen_at=cast.NOW - HOUR)

    assert awaited(technician_api, dry) == ["paired_retest"]


def test_a_proof_in_the_moment_of_mending_counts(technician_api, dry):
    make_proof(dry, seen_at=cast.NOW)

    assert awaited(technician_api, dry) is None


def test_the_proof_of_one_ticket_is_none_of_another(technician_api, dry, visit):
    other = cast.make_ticket(visit.property, fault="wiring", state="mended", visit=visit)
    make_proof(other)

    assert found(technician_api, "awaits_proof=true") == [str(dry.pk)]


@pytest.mark.parametrize("state", ["open", "agreed", "booked", "proven", "declined", "void"])
def test_a_ticket_in_another_state_awaits_no_proof(office_api, visit, zone, state):
    ticket = cast.make_ticket(visit.property, zone=zone, fault="dry_spot", state=state, visit=visit)

    assert awaited(office_api, ticket) is None
    assert found(office_api, "awaits_proof=true") == []
    assert found(office_api, "awaits_proof=false") == [str(ticket.pk)]


def test_mending_answers_with_what_it_awaits_and_booking_again_with_nothing(
    office_api, technician_api, visit, zone, garden, technician
):
    ticket = cast.make_ticket(garden, zone=zone, fault="dry_spot", state="booked", visit=visit)

    mended = technician_api.post(f"{URL}/{ticket.pk}/mend", {}).json()
    make_proof(ticket, kind="function_check")
    planned = cast.make_visit(garden, technician)
    booked = office_api.post(f"{URL}/{ticket.pk}/book", {"visit": str(planned.pk)}).json()

    assert mended["awaits_proof"] == ["paired_retest"]
    assert (booked["state"], booked["awaits_proof"]) == ("booked", None)


def test_an_opened_ticket_answers_with_nothing_awaited(office_api, garden):
    made = office_api.post(URL, {"property": str(garden.pk), "fault": "wiring"})

    assert (made.status_code, made.json()["awaits_proof"]) == (201, None)


def test_the_filter_goes_with_others_and_refuses_what_is_neither(technician_api, dry, visit):
    cast.make_ticket(visit.property, fault="wiring", state="mended", visit=visit)

    assert found(technician_api, "awaits_proof=true&fault=dry_spot") == [str(dry.pk)]
    assert found(technician_api, "awaits_proof=true&state=open") == []
    refused = technician_api.get(f"{URL}?awaits_proof=perhaps")
    assert (refused.status_code, pointers(refused)) == (400, ["/awaits_proof"])


def test_it_cannot_be_sent_and_a_stranger_sees_nothing(office_api, outsider_api, garden, dry):
    sent = {"property": str(garden.pk), "fault": "wiring", "awaits_proof": None}

    assert pointers(office_api.post(URL, sent)) == ["/awaits_proof"]
    assert found(outsider_api, "awaits_proof=true") == []


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, visit, dry, django_assert_num_queries
):
    queries = 5  # token, company (units, and day of the scope), tickets, lines
    with django_assert_num_queries(queries):
        technician_api.get(f"{URL}?awaits_proof=true")
    for fault in ("wiring", "leaning", "runoff"):
        for _ in range(3):
            cast.make_ticket(visit.property, fault=fault, state="mended", visit=visit)

    with django_assert_num_queries(queries):
        rows = technician_api.get(f"{URL}?awaits_proof=true").json()["results"]

    assert len(rows) == 10
    assert all(row["awaits_proof"] for row in rows)
