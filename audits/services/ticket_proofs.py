"""Proving a repair: what was seen is stored, and moves the ticket only where the fault is gone.

Numbers gate nothing: how much a retest changed is told beside the proof, and whether the fault is
gone is the word of who saw it.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from django.db import transaction

from audits.domain.ticket_proofs import ProofKind
from audits.domain.ticket_states import MoveFacts, ProofFacts, TicketState, check_move
from audits.models import CatchTest, RepairTicket, TicketProof, Visit
from audits.selectors.tickets import change_between, ticket_facts
from audits.services.field_records import check_may_record
from audits.services.ticket_moves import move_ticket, moved_meanwhile
from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.rows import add_row

# What each kind of proof names; the last one tells when the zone was seen.
EVIDENCE: Final[dict[ProofKind, tuple[str, ...]]] = {
    ProofKind.PAIRED_RETEST: ("test_before", "test_after"),
    ProofKind.READING: ("flow_check",),
    ProofKind.PHOTO: ("photo",),
    ProofKind.FUNCTION_CHECK: ("note",),
}
OF_ONE_KIND: Final = ("test_before", "test_after", "flow_check", "photo")


@transaction.atomic
def prove_ticket(
    ticket: RepairTicket, values: Mapping[str, Any], *, actor: StaffMember, now: datetime
) -> TicketProof:
    """Store what was seen at a visit after the work; where the fault is gone, the ticket is proven.

    1. The proof names what its kind asks for, and nothing else.
    2. The visit is the actor's own (or he is of the office), and has begun.
    3. The ticket is mended, the proof fits its fault and is not older than the work.
    4. What it names was seen at that visit, in the zone of the ticket.
    """
    kind, visit = ProofKind(values["kind"]), values["visit"]
    _check_named(kind, values)
    seen_at = _seen_at(kind, values, now)
    check_may_record(visit, actor=actor, happened_at=seen_at, now=now, moment_field="seen_at")
    _check_rules(ticket, ProofFacts(kind, seen_at, values["fault_is_gone"]))
    _check_places(ticket, kind, values)
    proof = add_row(
        TicketProof, {**values, "ticket": ticket, "seen_at": seen_at},
        actor=actor, now=now, act="seen",
    )  # fmt: skip
    if proof.fault_is_gone:
        move_ticket(ticket, TicketState.PROVEN, {}, actor=actor, now=now)
    else:
        _require_unmoved(ticket)
    return proof


def _check_named(kind: ProofKind, values: Mapping[str, Any]) -> None:
    for name in EVIDENCE[kind]:
        if not values.get(name):
            raise InvalidInputError(
                "The proof does not name what it rests on.",
                field=name, code="missing",
                remedy=f"A proof of this kind names: {', '.join(EVIDENCE[kind])}.",
            )  # fmt: skip
    own_moment = () if kind is ProofKind.FUNCTION_CHECK else ("seen_at",)
    for name in (*OF_ONE_KIND, *own_moment):
        if name not in EVIDENCE[kind] and values.get(name):
            raise InvalidInputError(
                "A proof of this kind does not take this.",
                field=name, code="not-of-this-kind",
                remedy="Leave it out, or record a second proof.",
            )  # fmt: skip


def _seen_at(kind: ProofKind, values: Mapping[str, Any], now: datetime) -> datetime:
    if kind is ProofKind.FUNCTION_CHECK:
        return values.get("seen_at") or now
    seen_at: datetime = values[EVIDENCE[kind][-1]].taken_at
    return seen_at


def _check_rules(ticket: RepairTicket, proof: ProofFacts) -> None:
    """Refuse what the rules refuse, but for one thing: a proof may show that the fault is there."""
    try:
        check_move(ticket_facts(ticket), TicketState.PROVEN, MoveFacts(proof=proof))
    except RefusedError as refusal:
        if refusal.code == "proof-shows-fault":
            return
        if refusal.field == "seen_at" and proof.kind is not ProofKind.FUNCTION_CHECK:
            refusal.field = EVIDENCE[proof.kind][-1]  # which tells the moment
        raise


def _check_places(ticket: RepairTicket, kind: ProofKind, values: Mapping[str, Any]) -> None:
    visit: Visit = values["visit"]
    if visit.property_id != ticket.property_id:
        raise _elsewhere("visit", "This visit goes to another property.")
    if kind is ProofKind.FUNCTION_CHECK:
        return
    name = EVIDENCE[kind][-1]
    if values[name].visit_id != visit.pk:
        raise _elsewhere(name, "This was not seen at the visit of the proof.")
    zone_id = values[name].zone_id
    if ticket.zone_id and zone_id and zone_id != ticket.zone_id:
        raise _elsewhere(name, "This was seen in another zone than the ticket's.")
    if kind is ProofKind.PAIRED_RETEST:
        _check_pair(ticket, values["test_before"], values["test_after"])


def _check_pair(ticket: RepairTicket, before: CatchTest, after: CatchTest) -> None:
    if before.zone_id != after.zone_id:
        raise _elsewhere("test_before", "The tests were taken in two zones.")
    mended_at = ticket.mended_at or after.taken_at
    if before.taken_at > mended_at or before.taken_at >= after.taken_at:
        raise InvalidInputError(
            "The first test was not taken before the repair.",
            field="test_before", code="retest-order",
            remedy="Name the test from before the repair.",
        )  # fmt: skip
    for name, test in (("test_before", before), ("test_after", after)):
        _check_stands(name, test)
    _check_comparable(before, after)


def _check_stands(name: str, test: CatchTest) -> None:
    if test.voided_at or CatchTest.objects.filter(supersedes=test, voided_at=None).exists():
        raise InvalidInputError(
            "This test was taken back or replaced.",
            field=name, code="test-taken-back", remedy="Name a test that stands.",
        )  # fmt: skip


def _check_comparable(before: CatchTest, after: CatchTest) -> None:
    """Refuse tests whose cups do not pair; how they differ is no ground for a refusal."""
    try:
        change_between(before, after)
    except InvalidInputError as refusal:
        refusal.field = "test_before" if refusal.field == "before" else "test_after"
        raise


def _require_unmoved(ticket: RepairTicket) -> None:
    """Hold the ticket as it was read until the proof is stored."""
    as_read = {"pk": ticket.pk, "state": ticket.state, "revision": ticket.revision}
    if not RepairTicket.objects.select_for_update().filter(**as_read):
        raise moved_meanwhile()


def _elsewhere(field: str, detail: str) -> InvalidInputError:
    return InvalidInputError(
        detail, field=field, code="proof-elsewhere",
        remedy="Name what was seen at this visit, where the ticket was mended.",
    )  # fmt: skip
