"""Whatever the office and the technician do in whatever order, the books stay true."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import FITTING_PROOFS, OPENS_MAIN_LINE
from audits.models import RepairTicket, TicketProof, Visit
from audits.services.ticket_moves import (
    agree_ticket,
    book_ticket,
    decline_ticket,
    mend_ticket,
    unbook_ticket,
    void_ticket,
)
from audits.services.ticket_proofs import EVIDENCE, ProofKind, prove_ticket
from audits.services.visits import finish_visit, start_visit
from properties.domain.errors import DomainError
from properties.models import Event
from tests import cast
from tests.audits.services.test_ticket_proofs import make_flow_check, make_photo

WORDS = st.sampled_from(["Ingrid Holm", "Ingrid Holm", "Ingrid Holm", " "])
SELDOM = st.integers(0, 9).map(lambda drawn: drawn == 9)
STATES: list[str] = []  # what the runs reached, so that a machine stuck at its start is noticed


class TicketLife(RuleBasedStateMachine):
    """Acts on one ticket through the services; each run is undone at its end."""

    def __init__(self) -> None:
        super().__init__()
        self.undone = transaction.atomic()
        self.undone.__enter__()
        cast.make_company()
        self.office, self.technician = cast.make_office(), cast.make_technician()
        self.garden = cast.make_property()
        self.zone = cast.make_zone(cast.make_controller(self.garden))
        self.now, self.acts = cast.NOW, 0
        self.visits = [self.new_visit()]

    def teardown(self) -> None:
        STATES.append(self.ticket.state)
        transaction.set_rollback(True)
        self.undone.__exit__(None, None, None)

    @property
    def ticket(self) -> RepairTicket:
        return RepairTicket.objects.get(pk=self.ticket_id)

    @property
    def visit(self) -> Any:
        """The visit on which the ticket is booked, or else the last one."""
        return Visit.objects.get(pk=self.ticket.visit_id or self.visits[-1].pk)

    def new_visit(self) -> Any:
        return cast.make_visit(self.garden, self.technician)

    def act(self, service: Any, *args: Any, events: int = 1, **facts: Any) -> bool:
        """Do it; a refusal must leave no trace. Successes are counted by the events they owe."""
        self.now += dt.timedelta(minutes=1)
        before = RepairTicket.objects.values().get(pk=self.ticket_id)
        proofs = TicketProof.objects.count()
        try:
            service(*args, **facts, now=self.now)
        except DomainError:
            assert RepairTicket.objects.values().get(pk=self.ticket_id) == before
            assert TicketProof.objects.count() == proofs
            return False
        self.acts += events
        return True

    @initialize(fault=st.sampled_from(sorted(FaultKind)), is_licensed=st.booleans())
    def open(self, fault, is_licensed):
        if is_licensed:
            cast.make_licence(self.technician)
        ticket = cast.make_ticket(self.garden, zone=self.zone, fault=fault)
        self.ticket_id, self.is_licensed = ticket.pk, is_licensed

    @rule(data=st.data(), is_gone=st.booleans())
    def go_on(self, data, is_gone):
        """Do what comes next, so that the runs do not lose themselves in refusals."""
        fitting = sorted(FITTING_PROOFS[FaultKind(self.ticket.fault)])
        steps = {
            "open": lambda: self.agree("Ingrid Holm"),
            "agreed": lambda: self.book(plans_first=True),
            "booked": lambda: self.mend(starts_first=True, minutes_ago=0),
            "mended": lambda: self.prove(data.draw(st.sampled_from(fitting)), is_gone, 0),
        }
        steps.get(self.ticket.state, lambda: None)()

    @rule(person=WORDS)
    def agree(self, person):
        self.act(agree_ticket, self.ticket, person=person, actor=self.office)

    @rule(plans_first=st.booleans())
    def book(self, plans_first):
        if plans_first:
            self.visits.append(self.new_visit())
        self.act(book_ticket, self.ticket, visit=self.visits[-1], actor=self.office)

    @rule(starts_first=st.booleans(), minutes_ago=st.integers(0, 3))
    def mend(self, starts_first, minutes_ago):
        if starts_first:
            self.act(start_visit, self.visit, actor=self.technician)
        moment = self.now - dt.timedelta(minutes=minutes_ago)
        self.act(mend_ticket, self.ticket, mended_at=moment, actor=self.technician)

    @rule(
        kind=st.sampled_from(sorted(ProofKind)),
        is_gone=st.booleans(),
        minutes_ago=st.integers(-5, 5),
    )
    def prove(self, kind, is_gone, minutes_ago):
        named = self.evidence(kind, self.now - dt.timedelta(minutes=minutes_ago))
        values = {"kind": kind, "visit": self.visit, "fault_is_gone": is_gone, **named}
        events = 2 if is_gone else 1  # that it was seen, and that the ticket moved
        self.act(prove_ticket, self.ticket, values, actor=self.technician, events=events)

    @rule(service=st.sampled_from([unbook_ticket, void_ticket]), reason=WORDS, wants=SELDOM)
    def give_up(self, service, reason, wants):
        if wants:
            self.act(service, self.ticket, reason=reason, actor=self.office)

    @rule(person=WORDS, wants=SELDOM)
    def decline(self, person, wants):
        if wants:
            self.act(decline_ticket, self.ticket, person=person, actor=self.office)

    @rule()
    def finish(self):
        self.act(finish_visit, self.visit, actor=self.technician)

    def evidence(self, kind: ProofKind, seen_at: dt.datetime) -> dict[str, Any]:
        visit, zone = self.visit, self.zone
        if kind is ProofKind.FUNCTION_CHECK:
            return {"note": "Ran it.", "seen_at": seen_at}
        if kind is ProofKind.READING:
            return {"flow_check": make_flow_check(visit, zone, taken_at=seen_at)}
        if kind is ProofKind.PHOTO:
            return {"photo": make_photo(visit, zone, taken_at=seen_at)}
        before = cast.NOW - dt.timedelta(days=1)
        moments = dict(zip(EVIDENCE[kind], (before, seen_at), strict=True))
        return {
            name: cast.make_catch_test(visit, zone, taken_at=moment)
            for name, moment in moments.items()
        }

    @invariant()
    def no_event_is_lost(self):
        assert Event.objects.count() == self.acts

    @invariant()
    def a_proven_ticket_has_the_proof_that_its_fault_asks_for(self):
        if self.ticket.state != "proven":
            return
        ticket, fault = self.ticket, FaultKind(self.ticket.fault)
        fitting = ticket.proofs.filter(
            kind__in=FITTING_PROOFS[fault], fault_is_gone=True, seen_at__gte=ticket.mended_at
        )
        assert fitting.count() == 1
        assert ticket.agreed_by.strip()
        assert ticket.mended_by == ticket.visit.technician
        assert self.is_licensed or fault not in OPENS_MAIN_LINE


def test_no_path_reaches_proven_without_its_proof_and_no_event_is_lost(db):
    STATES.clear()

    run_state_machine_as_test(
        TicketLife,
        settings=settings(
            max_examples=40, stateful_step_count=25, deadline=None, derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip

    assert {"open", "booked", "mended", "proven"} <= set(STATES)
