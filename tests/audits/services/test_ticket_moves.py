"""The moves of a ticket: what each stores, what each refuses, and who wins of two at once."""

from __future__ import annotations

import datetime as dt
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.core.exceptions import ValidationError
from django.db import connection

from audits.models import RepairTicket, TicketProof
from audits.services.ticket_moves import (
    agree_ticket,
    book_ticket,
    decline_ticket,
    mend_ticket,
    unbook_ticket,
    void_ticket,
)
from properties.domain.errors import DomainError, InvalidInputError, RefusedError
from properties.models import Event
from tests import cast

LATER = cast.NOW + dt.timedelta(hours=1)
VALVE = "valve_does_not_open"


@pytest.fixture
def planned(garden, technician):
    return cast.make_visit(garden, technician, planned_date=cast.TODAY + dt.timedelta(days=2))


def make(garden, state="open", **changes):
    return cast.make_ticket(garden, state=state, **changes)


def refusal_of(ticket, service, **facts):
    """Return the code of the refusal, after checking that it changed nothing."""
    before, events = RepairTicket.objects.values().get(pk=ticket.pk), Event.objects.count()
    with pytest.raises(DomainError) as refusal:
        service(ticket, **facts, now=LATER)
    assert RepairTicket.objects.values().get(pk=ticket.pk) == before
    assert Event.objects.count() == events
    return refusal.value.code


def test_each_move_stores_its_facts_and_one_event(garden, office, technician, planned):
    ticket = make(garden)
    who = {"actor": office, "now": LATER}

    ticket = agree_ticket(ticket, person=" Ingrid Holm ", **who)
    assert (ticket.agreed_by, ticket.agreed_at) == ("Ingrid Holm", LATER)
    ticket = book_ticket(ticket, visit=planned, **who)
    assert ticket.visit == planned
    ticket = unbook_ticket(ticket, reason="Rain.", **who)
    assert (ticket.state, ticket.visit, ticket.agreed_by) == ("agreed", None, "Ingrid Holm")
    ticket = book_ticket(ticket, visit=planned, **who)
    planned.state, planned.started_at = "under_way", LATER
    planned.save()
    ticket = mend_ticket(ticket, actor=technician, now=LATER)
    assert (ticket.mended_by, ticket.mended_at, ticket.revision) == (technician, LATER, 6)

    stored = RepairTicket.objects.get()
    assert (stored.state, stored.changed_at, stored.revision) == ("mended", LATER, 6)
    events = list(Event.objects.filter(subject_id=ticket.pk))
    assert sorted(event.act for event in events) == [
        "agreed", "booked", "booked", "mended", "unbooked",
    ]  # fmt: skip
    told = {event.act: event for event in events}
    assert (told["agreed"].before["state"], told["agreed"].after["state"]) == ("open", "agreed")
    assert told["unbooked"].after["reason"] == "Rain."
    assert (told["agreed"].actor, told["mended"].actor) == (office, technician)


def test_an_event_does_not_keep_who_agreed_or_declined(garden, office):
    agreed = agree_ticket(make(garden), person="Ingrid Holm", actor=office, now=LATER)
    decline_ticket(agreed, person="Ingrid Holm", actor=office, now=LATER)

    assert "Ingrid" not in str(list(Event.objects.values("before", "after")))


@pytest.mark.parametrize("state", ["open", "agreed", "booked"])
def test_a_live_ticket_is_declined_by_a_person_or_void_for_a_reason(garden, office, state):
    declined = decline_ticket(make(garden, state), person="Tomas", actor=office, now=LATER)
    void = void_ticket(make(garden, state), reason="Entered twice.", actor=office, now=LATER)

    assert (declined.state, declined.closing_word, declined.visit) == ("declined", "Tomas", None)
    assert (void.state, void.closing_word, void.visit) == ("void", "Entered twice.", None)


@pytest.mark.parametrize(
    ("state", "service", "facts", "code"),
    [
        ("open", agree_ticket, {"person": " "}, "agreement-without-person"),
        ("open", decline_ticket, {"person": " "}, "declined-without-person"),
        ("open", void_ticket, {"reason": " "}, "void-without-reason"),
        ("booked", unbook_ticket, {"reason": " "}, "unbooking-without-reason"),
        ("open", mend_ticket, {}, "no-such-move"),
        ("agreed", mend_ticket, {}, "no-such-move"),
        ("agreed", agree_ticket, {"person": "Ingrid"}, "no-such-move"),
        ("booked", agree_ticket, {"person": "Ingrid"}, "unbooking-without-reason"),
        ("open", unbook_ticket, {"reason": "Rain."}, "agreement-without-person"),
        ("mended", void_ticket, {"reason": "Twice."}, "no-such-move"),
        ("proven", void_ticket, {"reason": "Twice."}, "ticket-closed"),
        ("declined", agree_ticket, {"person": "Ingrid"}, "ticket-closed"),
        ("void", decline_ticket, {"person": "Ingrid"}, "ticket-closed"),
    ],
)  # fmt: skip
def test_refuses_what_the_rules_refuse(garden, office, state, service, facts, code):
    assert refusal_of(make(garden, state), service, **facts, actor=office) == code


def test_refuses_an_agreement_of_the_future(garden, office):
    to_come = LATER + dt.timedelta(hours=24, seconds=1)
    facts = {"person": "Ingrid", "agreed_at": to_come, "actor": office}

    assert refusal_of(make(garden), agree_ticket, **facts) == "future"


@pytest.mark.parametrize("state", ["under_way", "missed", "called_off"])
def test_refuses_to_book_on_a_visit_that_is_not_planned(garden, technician, office, state):
    visit = cast.make_visit(garden, technician, state=state, started_at=cast.NOW)

    code = refusal_of(make(garden, "agreed"), book_ticket, visit=visit, actor=office)

    assert code == "visit-state"


def test_refuses_to_book_on_a_visit_elsewhere(garden, other_garden, technician, office):
    visit = cast.make_visit(other_garden, technician)

    code = refusal_of(make(garden, "agreed"), book_ticket, visit=visit, actor=office)

    assert code == "visit-elsewhere"


@pytest.mark.parametrize(
    ("days", "code"),
    [
        ((-1, 1), None),
        ((0, 0), None),
        ((1, 9), "licence-not-valid"),
        ((-9, -1), "licence-not-valid"),
        (None, "licence-missing"),
    ],
)
@pytest.mark.parametrize(
    "work",
    [{"fault": VALVE}, {"licence_asked": True}, {"opens_main_line": True}],
)
def test_licensed_work_needs_a_licence_on_the_day_of_the_visit(
    garden, office, planned, days, code, work
):
    ticket = make(garden, "agreed", **work)
    if days:
        first, last = (planned.planned_date + dt.timedelta(days=offset) for offset in days)
        cast.make_licence(planned.technician, valid_from=first, valid_until=last)

    if code:
        assert refusal_of(ticket, book_ticket, visit=planned, actor=office) == code
    else:
        assert book_ticket(ticket, visit=planned, actor=office, now=LATER).state == "booked"


def test_the_licence_must_hold_on_the_day_of_the_work_where_the_property_is(
    garden, technician, visit
):
    """Half past three in the morning of June 11 UTC is still June 10 in Chicago."""
    ticket = make(garden, "booked", fault=VALVE, visit=visit)
    cast.make_licence(technician, valid_until=cast.TODAY)
    evening = dt.datetime(2026, 6, 11, 3, 30, tzinfo=dt.UTC)
    next_day = evening + dt.timedelta(hours=2)

    late = {"mended_at": next_day, "actor": technician}
    assert refusal_of(ticket, mend_ticket, **late) == "licence-not-valid"
    assert mend_ticket(ticket, mended_at=evening, actor=technician, now=LATER).state == "mended"


def test_work_is_mended_by_the_technician_of_the_visit_or_the_office(
    garden, office, technician, outsider, visit
):
    ticket = make(garden, "booked", visit=visit)

    assert refusal_of(ticket, mend_ticket, actor=outsider) == "not-your-visit"
    mended = mend_ticket(ticket, actor=office, now=LATER)

    assert mended.mended_by == technician


def test_refuses_to_mend_at_a_visit_that_has_not_begun(garden, technician, planned):
    ticket = make(garden, "booked", visit=planned)

    assert refusal_of(ticket, mend_ticket, actor=technician) == "visit-state"


def test_refuses_work_from_before_its_visit_began(garden, technician, visit):
    ticket = make(garden, "booked", visit=visit)
    before = visit.started_at - dt.timedelta(seconds=1)

    with pytest.raises(InvalidInputError) as refusal:
        mend_ticket(ticket, mended_at=before, actor=technician, now=LATER)

    assert (refusal.value.code, refusal.value.field) == ("mended-before-visit", "mended_at")
    assert refusal_of(ticket, mend_ticket, mended_at=before, actor=technician) == refusal.value.code
    started = {"mended_at": visit.started_at, "actor": technician, "now": LATER}
    assert mend_ticket(ticket, **started).state == "mended"


def test_refuses_to_mend_at_a_visit_of_another_property(garden, other_garden, technician, office):
    elsewhere = cast.make_visit_under_way(other_garden, technician)
    ticket = make(garden, "booked", visit=elsewhere)

    for actor in (technician, office):
        assert refusal_of(ticket, mend_ticket, actor=actor) == "visit-elsewhere"


@pytest.mark.parametrize(("service", "state"), [(book_ticket, "agreed"), (mend_ticket, "booked")])
def test_a_missing_licence_is_cured_at_the_visit(garden, office, planned, visit, service, state):
    ticket = make(garden, state, fault=VALVE, visit=visit)
    facts = {"visit": planned} if service is book_ticket else {}

    with pytest.raises(RefusedError) as refusal:
        service(ticket, **facts, actor=office, now=LATER)

    assert (refusal.value.code, refusal.value.field) == ("licence-missing", "visit")
    assert "visit of a technician with a licence" in refusal.value.remedy


def test_mended_work_is_booked_again_only_after_a_proof_that_shows_the_fault(
    garden, office, planned, visit
):
    ticket = make(garden, "mended", visit=visit)
    again = {"visit": planned, "actor": office}
    assert refusal_of(ticket, book_ticket, **again) == "reopening-without-failed-proof"
    TicketProof.objects.create(
        ticket=ticket, visit=visit, kind="function_check", note="Leans still.",
        seen_at=LATER, fault_is_gone=False, **cast.ROW,
    )  # fmt: skip

    reopened = book_ticket(ticket, **again, now=LATER)

    assert (reopened.state, reopened.visit) == ("booked", planned)
    assert (reopened.mended_by, reopened.mended_at) == (None, None)


def test_what_was_seen_before_the_last_repair_does_not_book_it_again(
    garden, office, planned, visit
):
    ticket = make(garden, "mended", visit=visit)

    def see(seen_at):
        TicketProof.objects.create(
            ticket=ticket, visit=visit, kind="function_check", note="Leans still.",
            seen_at=seen_at, fault_is_gone=False, **cast.ROW,
        )  # fmt: skip

    again = {"visit": planned, "actor": office}
    see(cast.NOW - dt.timedelta(minutes=1))
    assert refusal_of(ticket, book_ticket, **again) == "reopening-without-failed-proof"
    see(LATER)

    assert book_ticket(ticket, **again, now=LATER).state == "booked"


def test_work_is_not_booked_again_beside_a_live_ticket_of_the_same_fault(
    garden, zone, office, planned, visit
):
    ticket = make(garden, "mended", visit=visit, zone=zone)
    TicketProof.objects.create(
        ticket=ticket, visit=visit, kind="function_check", note="Leans still.",
        seen_at=LATER, fault_is_gone=False, **cast.ROW,
    )  # fmt: skip
    make(garden, zone=zone)

    with pytest.raises(ValidationError, match="live ticket"):
        book_ticket(ticket, visit=planned, actor=office, now=LATER)

    assert RepairTicket.objects.get(pk=ticket.pk).state == "mended"
    assert not Event.objects.exists()


def test_a_stale_copy_does_not_move(garden, office):
    ticket = make(garden)
    stale = RepairTicket.objects.get()
    agree_ticket(ticket, person="Ingrid", actor=office, now=LATER)

    who = {"person": "Ingrid", "actor": office}
    assert refusal_of(stale, agree_ticket, **who) == "changed-meanwhile"
    assert refusal_of(stale, decline_ticket, **who) == "changed-meanwhile"


def test_a_moment_without_a_zone_is_refused(garden, technician, visit):
    ticket = make(garden, "booked", visit=visit)

    with pytest.raises(InvalidInputError) as refusal:
        mend_ticket(
            ticket, mended_at=LATER.replace(tzinfo=None), actor=technician, now=LATER
        )  # fmt: skip

    assert (refusal.value.code, refusal.value.field) == ("moment-without-zone", "mended_at")


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("round_", range(5))
def test_of_two_offices_at_once_one_wins_and_one_is_told(round_):
    cast.make_company()
    offices = [cast.make_office(), cast.make_office("second@meadowlark.example")]
    ticket = cast.make_ticket(cast.make_property())
    acts = [
        lambda actor: agree_ticket(ticket, person="Ingrid", actor=actor, now=LATER),
        lambda actor: void_ticket(ticket, reason="Twice.", actor=actor, now=LATER),
    ]
    gate = Barrier(2)

    def move(number):
        gate.wait()
        try:
            return acts[number](offices[number]).state
        except RefusedError as refusal:
            return refusal.code
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        outcomes = list(pool.map(move, range(2)))

    assert outcomes.count("changed-meanwhile") == 1
    assert RepairTicket.objects.get().state in outcomes
    assert RepairTicket.objects.get().revision == 2
    assert Event.objects.filter(subject_id=ticket.pk).count() == 1
