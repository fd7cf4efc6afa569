"""The life of a repair ticket, and what each step of it asks for.

    open -> agreed -> booked -> mended -> proven, or declined, or void

A client agrees before anybody is booked, and a repair is proven by what fits its fault, never by
the word that it is done. Proven, declined and void are ends.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Final

from audits.domain.faults import FAULTS, FaultKind
from audits.domain.moments import require_time_zone
from audits.domain.ticket_proofs import (
    FITTING_PROOFS,
    OPENS_MAIN_LINE,
    PROOF_WORDS,
    ProofKind,
    proofs_in_words,
)
from audits.domain.ticket_refusals import refusal, require


class TicketState(StrEnum):
    OPEN = "open"
    AGREED = "agreed"
    BOOKED = "booked"
    MENDED = "mended"
    PROVEN = "proven"
    DECLINED = "declined"
    VOID = "void"


# A booking may move to another visit or be given up; work that did not last is booked again.
MOVES: Final[dict[TicketState, frozenset[TicketState]]] = {
    TicketState.OPEN: frozenset({TicketState.AGREED, TicketState.DECLINED, TicketState.VOID}),
    TicketState.AGREED: frozenset({TicketState.BOOKED, TicketState.DECLINED, TicketState.VOID}),
    TicketState.BOOKED: frozenset(
        {
            TicketState.BOOKED,
            TicketState.MENDED,
            TicketState.AGREED,
            TicketState.DECLINED,
            TicketState.VOID,
        }
    ),
    TicketState.MENDED: frozenset({TicketState.PROVEN, TicketState.BOOKED}),
    TicketState.PROVEN: frozenset(),
    TicketState.DECLINED: frozenset(),
    TicketState.VOID: frozenset(),
}


@dataclass(frozen=True, kw_only=True)
class TicketFacts:
    """What the rules must know of a ticket.

    `opens_main_line` None takes what is usual for the fault; `licence_asked` is set where the local
    code licenses the work, or where it reaches wiring beyond the 24 V field side.
    """

    state: TicketState
    fault: FaultKind
    opens_main_line: bool | None = None
    licence_asked: bool = False
    mended_at: datetime | None = None

    @property
    def needs_licence(self) -> bool:
        """Whether only a technician with a valid licence may do the work."""
        if self.opens_main_line is None:
            return self.licence_asked or self.fault in OPENS_MAIN_LINE
        return self.licence_asked or self.opens_main_line


@dataclass(frozen=True)
class LicenceFacts:
    """A licence of a technician and the last day on which it is valid."""

    number: str
    valid_until_date: date
    valid_from_date: date = date.min

    def is_valid_on(self, day: date) -> bool:
        """Whether the licence holds on a day, its first and last one included."""
        return bool(self.number.strip()) and self.valid_from_date <= day <= self.valid_until_date


@dataclass(frozen=True)
class VisitFacts:
    """The visit that a ticket is booked on: its local day, who goes, and his licences."""

    on_date: date
    technician: str = ""
    licences: tuple[LicenceFacts, ...] = ()


@dataclass(frozen=True)
class ProofFacts:
    """What was seen after the repair; `fault_is_gone` is the word of who saw it, not a number."""

    kind: ProofKind
    seen_at: datetime
    fault_is_gone: bool = True


@dataclass(frozen=True, kw_only=True)
class MoveFacts:
    """What comes with a move: who says so and when, and what the step asks for."""

    person: str = ""
    at: datetime | None = None
    visit: VisitFacts | None = None
    proof: ProofFacts | None = None
    reason: str = ""


def check_move(ticket: TicketFacts, target: TicketState, move: MoveFacts) -> None:
    """Return if the ticket may move to the target with these facts, or refuse by name.

    Parameters
    ----------
    ticket : the ticket as it is.
    target : the state to move to.
    move : what comes with the move.

    Raises
    ------
    RefusedError
        Code "ticket-closed", "not-mended-yet" or "no-such-move" for a move that no facts allow;
        "agreement-without-person", "agreement-without-moment", "unbooking-without-reason",
        "booking-without-visit", "technician-missing", "licence-missing", "licence-not-valid",
        "reopening-without-failed-proof", "mending-without-visit", "mending-without-technician",
        "mending-without-moment", "proof-missing", "proof-does-not-fit", "proof-before-mending",
        "proof-shows-fault", "declined-without-person" or "void-without-reason" for a move that
        lacks what it asks for; the field of these is what cures them.
    InvalidInputError
        Code "moment-without-zone".
    """
    _check_path(ticket.state, target)
    _check_moments(ticket, move)
    _CHECKS[target](ticket, move)


def _check_path(state: TicketState, target: TicketState) -> None:
    require(
        bool(MOVES[state]), "ticket-closed",
        f"The ticket is {state} and stays so.", "Open a new ticket if the fault is there again.",
    )  # fmt: skip
    require(
        target is not TicketState.PROVEN or target in MOVES[state], "not-mended-yet",
        f"The ticket is {state}: only mended work can be proven.", "Record the repair first.",
    )  # fmt: skip
    allowed = ", ".join(sorted(MOVES[state]))
    require(
        target in MOVES[state], "no-such-move",
        f"A ticket that is {state} cannot become {target}.", f"From here it can become: {allowed}.",
    )  # fmt: skip


def _check_moments(ticket: TicketFacts, move: MoveFacts) -> None:
    seen_at = move.proof.seen_at if move.proof else None
    for field, moment in (("at", move.at), ("mended_at", ticket.mended_at), ("proof", seen_at)):
        if moment is not None:
            require_time_zone(moment, field=field)


def _check_agreed(ticket: TicketFacts, move: MoveFacts) -> None:
    if ticket.state is TicketState.BOOKED:
        require(
            bool(move.reason.strip()), "unbooking-without-reason",
            "The booking is given up without a reason.", "Say why.",
        )  # fmt: skip
        return
    require(
        bool(move.person.strip()), "agreement-without-person",
        "Nobody has agreed to the repair.", "Name the person who agreed.",
    )  # fmt: skip
    require(
        move.at is not None, "agreement-without-moment",
        "The agreement has no date.", "Say when the person agreed.",
    )  # fmt: skip


def _check_booked(ticket: TicketFacts, move: MoveFacts) -> None:
    if ticket.state is TicketState.MENDED:
        require(
            move.proof is not None
            and not move.proof.fault_is_gone
            and not _is_stale(ticket, move.proof),
            "reopening-without-failed-proof",
            "Mended work is booked again only where a proof shows the fault.",
            "Record what was seen, or open a new ticket.",
        )  # fmt: skip
    if move.visit is None:
        raise refusal("booking-without-visit", "There is no visit to book.", "Name the visit.")
    _check_licence(ticket, move.visit, move.visit.on_date)


def _check_mended(ticket: TicketFacts, move: MoveFacts) -> None:
    if move.visit is None:
        raise refusal("mending-without-visit", "The repair belongs to no visit.", "Name the visit.")
    require(
        bool(move.visit.technician.strip()), "mending-without-technician",
        "Nobody is said to have mended it.", "Name the technician of the visit.",
    )  # fmt: skip
    require(
        move.at is not None, "mending-without-moment",
        "The repair has no moment.", "Say when it was mended.",
    )  # fmt: skip
    _check_licence(ticket, move.visit, move.visit.on_date)


def _check_licence(ticket: TicketFacts, visit: VisitFacts, day: date) -> None:
    if not ticket.needs_licence:
        return
    work = FAULTS[ticket.fault].label
    require(
        bool(visit.technician.strip()), "technician-missing",
        f"{work}: this work needs a licence, and the visit has no technician.",
        "Choose the visit of a technician with a licence.",
    )  # fmt: skip
    require(
        bool(visit.licences), "licence-missing",
        f"{work}: this work needs a licence, and {visit.technician} has none.",
        "Book a visit of a technician with a licence, or hand the work to the licensed trade.",
    )  # fmt: skip
    require(
        any(licence.is_valid_on(day) for licence in visit.licences), "licence-not-valid",
        f"{work}: no licence of {visit.technician} is valid on {day}.",
        "Book a visit of a technician whose licence is valid that day, or record its renewal.",
    )  # fmt: skip


def _check_proven(ticket: TicketFacts, move: MoveFacts) -> None:
    fitting = f"Bring {proofs_in_words(ticket.fault)}."
    if move.proof is None:
        raise refusal("proof-missing", "Nothing shows that the fault is gone.", fitting)
    require(
        move.proof.kind in FITTING_PROOFS[ticket.fault], "proof-does-not-fit",
        f"{FAULTS[ticket.fault].label}: {PROOF_WORDS[move.proof.kind]} does not prove it.", fitting,
    )  # fmt: skip
    require(
        not _is_stale(ticket, move.proof), "proof-before-mending",
        "The proof is older than the repair.", "Bring one from after the repair.",
    )  # fmt: skip
    require(
        move.proof.fault_is_gone, "proof-shows-fault",
        "The proof shows that the fault is still there.", "Book the repair again.",
    )  # fmt: skip


def _is_stale(ticket: TicketFacts, proof: ProofFacts) -> bool:
    return ticket.mended_at is not None and proof.seen_at < ticket.mended_at


def _check_declined(_: TicketFacts, move: MoveFacts) -> None:
    require(
        bool(move.person.strip()), "declined-without-person",
        "Nobody has declined the repair.", "Name the person who declined.",
    )  # fmt: skip


def _check_void(_: TicketFacts, move: MoveFacts) -> None:
    require(
        bool(move.reason.strip()), "void-without-reason",
        "The ticket would be void without a reason.", "Say why, such as: entered twice.",
    )  # fmt: skip


_CHECKS: Final[dict[TicketState, Callable[[TicketFacts, MoveFacts], None]]] = {
    TicketState.AGREED: _check_agreed,
    TicketState.BOOKED: _check_booked,
    TicketState.MENDED: _check_mended,
    TicketState.PROVEN: _check_proven,
    TicketState.DECLINED: _check_declined,
    TicketState.VOID: _check_void,
}
