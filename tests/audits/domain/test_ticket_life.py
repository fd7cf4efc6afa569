"""No path of moves goes around what the steps of a repair ticket ask for."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import FITTING_PROOFS, ProofKind
from audits.domain.ticket_states import (
    LicenceFacts,
    MoveFacts,
    ProofFacts,
    TicketState,
    VisitFacts,
    check_move,
)
from properties.domain.errors import RefusedError
from tests.audits.domain.tickets import DAY, ENDS, LIFE, NOON, make_move, make_ticket

names = st.sampled_from(["", "Ada Client"])
moments = st.sampled_from([NOON + timedelta(hours=h) for h in range(-3, 4)])
licences = st.lists(
    st.builds(LicenceFacts, st.sampled_from(["", "17"]), st.sampled_from([DAY, date(2026, 1, 1)])),
    max_size=2,
).map(tuple)
visits = st.builds(
    VisitFacts, st.sampled_from([DAY, DAY + timedelta(1)]), st.sampled_from(["", "Bo"]), licences
)
proofs = st.builds(ProofFacts, st.sampled_from(ProofKind), moments, st.booleans())
any_move = st.builds(
    MoveFacts,
    person=names,
    at=st.none() | moments,
    visit=st.none() | visits,
    proof=st.none() | proofs,
    reason=st.sampled_from(["", "entered twice"]),
)


class TicketLife(RuleBasedStateMachine):
    """Any moves in any order; what got through is remembered and judged by other words."""

    def __init__(self):
        super().__init__()
        self.ticket = make_ticket()
        self.history = []

    @precondition(lambda self: not self.history)
    @rule(fault=st.sampled_from(FaultKind), opens=st.none() | st.booleans(), asked=st.booleans())
    def begin(self, fault, opens, asked):
        self.ticket = make_ticket(fault=fault, opens_main_line=opens, licence_asked=asked)

    @rule(to=st.sampled_from(TicketState), move=any_move)
    def try_any(self, to, move):
        self._try(to, move)

    @rule(data=st.data(), move=any_move)
    def try_a_listed_move(self, data, move):
        if LIFE[self.ticket.state]:
            self._try(
                TicketState(data.draw(st.sampled_from(sorted(LIFE[self.ticket.state])))), move
            )

    @precondition(lambda self: self.ticket.state not in ENDS)
    @rule(kind=st.sampled_from(ProofKind), gone=st.booleans(), seen_at=moments)
    def go_on(self, kind, gone, seen_at):
        onward = {"open": "agreed", "agreed": "booked", "booked": "mended", "mended": "proven"}
        proof = ProofFacts(kind, seen_at, gone)
        self._try(TicketState(onward[self.ticket.state]), make_move(proof=proof))

    def _try(self, target, move):
        before, copy, state = self.ticket, replace(self.ticket), self.ticket.state
        move_before = replace(move)
        try:
            check_move(before, target, move)
        except RefusedError as refusal:
            assert refusal.code
            assert refusal.remedy
            assert before == copy
            assert move == move_before
            return
        assert state not in ENDS
        self.history.append((state, target, move))
        mended_at = move.at if target is TicketState.MENDED else before.mended_at
        self.ticket = replace(before, state=target, mended_at=mended_at)

    @invariant()
    def the_history_is_a_walk_along_the_life(self):
        at = TicketState.OPEN
        for state, target, _ in self.history:
            assert state is at
            assert target in LIFE[state]
            at = target
        assert at is self.ticket.state

    @invariant()
    def what_is_proven_was_agreed_mended_and_shown_by_a_fitting_proof(self):
        if self.ticket.state is not TicketState.PROVEN:
            return
        proof = self.history[-1][2].proof
        assert proof.kind in FITTING_PROOFS[self.ticket.fault]
        assert proof.fault_is_gone
        assert proof.seen_at >= self.ticket.mended_at
        assert self.history[-2][1] is TicketState.MENDED
        assert any(t is TicketState.AGREED and m.person and m.at for _, t, m in self.history)

    @invariant()
    def licensed_work_was_booked_and_mended_with_a_licence_of_that_day(self):
        ticket = self.ticket
        opens = ticket.fault.value.startswith("valve_")
        if ticket.opens_main_line is not None:
            opens = ticket.opens_main_line
        if not (opens or ticket.licence_asked):
            return
        for _, target, move in self.history:
            if target in (TicketState.BOOKED, TicketState.MENDED):
                held = [each for each in move.visit.licences if each.number]
                assert any(each.valid_until_date >= move.visit.on_date for each in held)
                assert move.visit.technician


TestTicketLife = TicketLife.TestCase
TestTicketLife.settings = settings(max_examples=60, stateful_step_count=25, deadline=None)
