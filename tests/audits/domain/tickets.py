"""A ticket and a move that lacks nothing, and the life of a ticket written down once more."""

from __future__ import annotations

from datetime import UTC, datetime

from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import ProofKind
from audits.domain.ticket_states import (
    LicenceFacts,
    MoveFacts,
    ProofFacts,
    TicketFacts,
    TicketState,
    VisitFacts,
)

NOON = datetime(2026, 5, 6, 12, tzinfo=UTC)
DAY = NOON.date()
LICENCE = LicenceFacts("17", DAY)
ENDS = (TicketState.PROVEN, TicketState.DECLINED, TicketState.VOID)
# Written down once more, as the trade tells it.
LIFE = {
    "open": {"agreed", "declined", "void"},
    "agreed": {"booked", "declined", "void"},
    "booked": {"booked", "agreed", "mended", "declined", "void"},
    "mended": {"proven", "booked"},
    "proven": set(),
    "declined": set(),
    "void": set(),
}


def make_ticket(state="open", fault=FaultKind.LEANING, **facts):
    return TicketFacts(state=TicketState(state), fault=fault, **facts)


def make_move(**changes):
    """A move that lacks nothing for a leaning head."""
    facts = {
        "person": "Ada Client",
        "at": NOON,
        "visit": VisitFacts(DAY, "Bo Fitter", (LICENCE,)),
        "proof": ProofFacts(ProofKind.PHOTO, NOON),
        "reason": "entered twice",
    }
    return MoveFacts(**(facts | changes))
