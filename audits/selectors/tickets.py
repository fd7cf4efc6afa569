"""Repair tickets as their rules see them, what they cost, and what was seen after the work."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Final

from django.db.models import QuerySet

from audits.domain.before_after import BeforeAfter, before_and_after
from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import ProofKind
from audits.domain.ticket_states import (
    LicenceFacts,
    ProofFacts,
    TicketFacts,
    TicketState,
    VisitFacts,
)
from audits.models import CatchTest, RepairTicket, TicketLine, TicketProof, Visit
from audits.selectors.catch_tests import result_of

# Two cups stood at the same place if their noted places agree to the decimetre.
PLACE_DECIMALS: Final = 1


def ticket_facts(ticket: RepairTicket) -> TicketFacts:
    """Return what the rules must know of a ticket."""
    return TicketFacts(
        state=TicketState(ticket.state),
        fault=FaultKind(ticket.fault),
        opens_main_line=ticket.opens_main_line,
        licence_asked=ticket.licence_asked,
        mended_at=ticket.mended_at,
    )


def visit_facts(visit: Visit, on_date: date) -> VisitFacts:
    """Return who goes on a visit, with which licences, for work done on that day."""
    licences = tuple(
        LicenceFacts(licence.number, licence.valid_until, licence.valid_from)
        for licence in visit.technician.licences.all()
    )
    return VisitFacts(on_date, visit.technician.name, licences)


def latest_proof(ticket: RepairTicket) -> ProofFacts | None:
    """Return what was seen last after the work, if anything was."""
    proof = ticket.proofs.order_by("-seen_at", "-id").first()
    if proof is None:
        return None
    return ProofFacts(ProofKind(proof.kind), proof.seen_at, proof.fault_is_gone)


def total_of(lines: Iterable[TicketLine]) -> Decimal:
    """Return what the lines cost that are not struck."""
    return sum((line.amount() for line in lines if not line.is_struck), Decimal("0.00"))


def proofs_of(ticket: RepairTicket) -> QuerySet[TicketProof]:
    """Return the proofs of a ticket with the tests and cups that a comparison needs."""
    return ticket.proofs.select_related("test_before", "test_after").prefetch_related(
        "test_before__readings", "test_after__readings"
    )


def change_between(before: CatchTest, after: CatchTest) -> BeforeAfter:
    """Return two tests side by side; cups pair by noted place, or else by number."""
    places = _places(before), _places(after)
    if None in places:
        places = (None, None)
    return before_and_after(
        result_of(before), result_of(after), places_before=places[0], places_after=places[1]
    )


def _places(test: CatchTest) -> list[tuple[float, float]] | None:
    places = [
        (round(reading.x_m, PLACE_DECIMALS), round(reading.y_m, PLACE_DECIMALS))
        for reading in test.readings.all()
        if reading.x_m is not None and reading.y_m is not None
    ]
    return places if len(places) == test.cups else None
