"""The moves of a repair ticket: the rules are the domain's, the facts come from the rows.

Each move is a conditional update of the ticket as it was read: of two who move it at once, one wins
and the other is told.
"""

from __future__ import annotations

import zoneinfo
from copy import copy
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.domain.moments import require_time_zone
from audits.domain.ticket_states import MoveFacts, TicketState, check_move
from audits.models import RepairTicket, Visit, VisitState
from audits.selectors.tickets import latest_proof, ticket_facts, visit_facts
from audits.services.field_records import CLOCK_TOLERANCE, check_may_record
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.events import record_event, snapshot


@transaction.atomic
def agree_ticket(
    ticket: RepairTicket,
    *,
    person: str,
    agreed_at: datetime | None = None,
    actor: StaffMember,
    now: datetime,
) -> RepairTicket:
    """Note who agreed to the repair, and when."""
    agreed_at = agreed_at or now
    facts = MoveFacts(person=person, at=agreed_at)
    check_move(ticket_facts(ticket), TicketState.AGREED, facts)
    _check_not_to_come(agreed_at, now)
    changes = {"agreed_by": person.strip(), "agreed_at": agreed_at}
    return move_ticket(ticket, TicketState.AGREED, changes, actor=actor, now=now)


@transaction.atomic
def book_ticket(
    ticket: RepairTicket, *, visit: Visit, actor: StaffMember, now: datetime
) -> RepairTicket:
    """Book the repair on a planned visit; work that did not last is booked again like this."""
    facts = MoveFacts(visit=visit_facts(visit, visit.planned_date), proof=latest_proof(ticket))
    check_move(ticket_facts(ticket), TicketState.BOOKED, facts)
    _check_bookable(visit, ticket)
    changes = {"visit": visit, "mended_by": None, "mended_at": None}
    return move_ticket(ticket, TicketState.BOOKED, changes, actor=actor, now=now)


@transaction.atomic
def unbook_ticket(
    ticket: RepairTicket, *, reason: str, actor: StaffMember, now: datetime
) -> RepairTicket:
    """Give up the booking; what was agreed stays agreed."""
    check_move(ticket_facts(ticket), TicketState.AGREED, MoveFacts(reason=reason))
    return move_ticket(
        ticket, TicketState.AGREED, {"visit": None}, act="unbooked", reason=reason.strip(),
        actor=actor, now=now,
    )  # fmt: skip


@transaction.atomic
def mend_ticket(
    ticket: RepairTicket, *, mended_at: datetime | None = None, actor: StaffMember, now: datetime
) -> RepairTicket:
    """Note that the technician of the booked visit did the work."""
    mended_at, visit = require_time_zone(mended_at or now, field="mended_at"), ticket.visit
    on_date = mended_at.astimezone(zoneinfo.ZoneInfo(ticket.property.time_zone)).date()
    facts = MoveFacts(at=mended_at, visit=visit_facts(visit, on_date) if visit else None)
    check_move(ticket_facts(ticket), TicketState.MENDED, facts)
    assert visit is not None
    check_may_record(visit, actor=actor, happened_at=mended_at, now=now, moment_field="mended_at")
    _check_at_ticket(visit, ticket)
    _check_begun(visit, mended_at)
    changes = {"mended_by": visit.technician, "mended_at": mended_at}
    return move_ticket(ticket, TicketState.MENDED, changes, actor=actor, now=now)


@transaction.atomic
def decline_ticket(
    ticket: RepairTicket, *, person: str, actor: StaffMember, now: datetime
) -> RepairTicket:
    """Note who does not want the repair."""
    check_move(ticket_facts(ticket), TicketState.DECLINED, MoveFacts(person=person))
    changes = {"visit": None, "closing_word": person.strip()}
    return move_ticket(ticket, TicketState.DECLINED, changes, actor=actor, now=now)


@transaction.atomic
def void_ticket(
    ticket: RepairTicket, *, reason: str, actor: StaffMember, now: datetime
) -> RepairTicket:
    """Take back a ticket that should not have been, and say why."""
    check_move(ticket_facts(ticket), TicketState.VOID, MoveFacts(reason=reason))
    changes = {"visit": None, "closing_word": reason.strip()}
    return move_ticket(ticket, TicketState.VOID, changes, actor=actor, now=now)


def move_ticket(
    ticket: RepairTicket,
    target: TicketState,
    changes: dict[str, Any],
    *,
    act: str = "",
    reason: str = "",
    actor: StaffMember,
    now: datetime,
) -> RepairTicket:
    """Store a move whose facts were checked, if the ticket still is what was read, with its event.

    A reason that no field of the ticket keeps is kept by the event.
    """
    values = {**changes, "state": target, "changed_at": now, "revision": ticket.revision + 1}
    moved = copy(ticket)
    for name, value in values.items():
        setattr(moved, name, value)
    moved.full_clean()
    as_read = {"pk": ticket.pk, "state": ticket.state, "revision": ticket.revision}
    if not RepairTicket.objects.filter(**as_read).update(**values):
        raise moved_meanwhile()
    after = snapshot(moved) | ({"reason": reason} if reason else {})
    record_event(
        moved, act=act or target.value, actor=actor, now=now, before=snapshot(ticket), after=after
    )
    return moved


def moved_meanwhile() -> RefusedError:
    return RefusedError(
        "Somebody else moved this ticket in the meantime.",
        code="changed-meanwhile", field="state", remedy="Read it again, then repeat your move.",
    )  # fmt: skip


def _check_not_to_come(agreed_at: datetime, now: datetime) -> None:
    if agreed_at > now + CLOCK_TOLERANCE:
        raise InvalidInputError(
            "This moment lies in the future.",
            field="agreed_at", code="future", remedy="Say when the person did agree.",
        )  # fmt: skip


def _check_begun(visit: Visit, mended_at: datetime) -> None:
    if visit.started_at is not None and mended_at < visit.started_at:
        raise InvalidInputError(
            "This moment lies before the visit began.",
            field="mended_at", code="mended-before-visit",
            remedy="Give a moment of the visit, or check the clock of the phone.",
        )  # fmt: skip


def _check_at_ticket(visit: Visit, ticket: RepairTicket) -> None:
    if visit.property_id != ticket.property_id:
        raise InvalidInputError(
            "This visit goes to another property.",
            field="visit", code="visit-elsewhere",
            remedy="Choose a visit at the property of the ticket.",
        )  # fmt: skip


def _check_bookable(visit: Visit, ticket: RepairTicket) -> None:
    _check_at_ticket(visit, ticket)
    if visit.state != VisitState.PLANNED:
        raise RefusedError(
            f"The visit is {visit.get_state_display().lower()}.",
            code="visit-state", field="visit", remedy="Choose a visit that is still planned.",
        )  # fmt: skip
