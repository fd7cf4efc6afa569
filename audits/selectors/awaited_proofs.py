"""Which mended tickets nobody has looked at since, and what would prove them."""

from __future__ import annotations

from django.db.models import Exists, OuterRef, Q, QuerySet

from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import ProofKind, fitting_proofs
from audits.domain.ticket_states import TicketState
from audits.models import RepairTicket, TicketProof


def with_proof_seen(tickets: QuerySet[RepairTicket]) -> QuerySet[RepairTicket]:
    """Mark in the same query which tickets were seen since they were mended (`is_seen`).

    A proof from before the work was done again counts no more. One that shows the fault does: then
    a new booking is awaited, and not a proof.
    """
    proofs = TicketProof.objects.filter(ticket=OuterRef("pk"), seen_at__gte=OuterRef("mended_at"))
    return tickets.annotate(is_seen=Exists(proofs))


def narrow_to_awaiting(
    tickets: QuerySet[RepairTicket], *, awaits_proof: bool
) -> QuerySet[RepairTicket]:
    """Narrow tickets out of `with_proof_seen` to those that await a proof, or to the others."""
    awaiting = Q(state=TicketState.MENDED, is_seen=False)
    return tickets.filter(awaiting if awaits_proof else ~awaiting)


def awaited_proofs(ticket: RepairTicket) -> tuple[ProofKind, ...] | None:
    """Return the kinds of proof of which a mended ticket awaits one; None if it awaits none.

    A ticket that was moved this moment keeps its mark from before, which holds: nobody can have
    seen what was not mended yet.
    """
    if ticket.state != TicketState.MENDED or getattr(ticket, "is_seen", False):
        return None
    return fitting_proofs(FaultKind(ticket.fault))
