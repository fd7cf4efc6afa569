"""What each step of a repair ticket asks for, and that no path goes around it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import FITTING_PROOFS, OPENS_MAIN_LINE, ProofKind
from audits.domain.ticket_states import (
    MOVES,
    LicenceFacts,
    MoveFacts,
    ProofFacts,
    TicketFacts,
    TicketState,
    VisitFacts,
    check_move,
)
from properties.domain.errors import InvalidInputError, RefusedError

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


def refused(ticket, target, move):
    with pytest.raises(RefusedError) as refusal:
        check_move(ticket, TicketState(target), move)
    assert refusal.value.remedy
    return refusal.value.code


def test_a_ticket_lives_from_open_to_proven():
    for state, target in (
        ("open", "agreed"), ("agreed", "booked"), ("booked", "mended"), ("mended", "proven"),
    ):  # fmt: skip
        assert check_move(make_ticket(state), TicketState(target), make_move()) is None


@pytest.mark.parametrize("state", TicketState)
@pytest.mark.parametrize("target", TicketState)
def test_only_the_moves_of_its_life_are_allowed_whatever_comes_with_them(state, target):
    failed = ProofFacts(ProofKind.PHOTO, NOON, fault_is_gone=False)
    move = make_move(proof=failed) if target is TicketState.BOOKED else make_move()

    try:
        check_move(make_ticket(state), target, move)
    except RefusedError:
        assert target not in LIFE[state]
    else:
        assert target in LIFE[state]


@pytest.mark.parametrize("state", ["open", "agreed", "booked"])
def test_nothing_is_proven_before_it_is_mended(state):
    assert refused(make_ticket(state), "proven", make_move()) == "not-mended-yet"


@pytest.mark.parametrize("state", ENDS)
@pytest.mark.parametrize("target", TicketState)
def test_an_end_is_an_end(state, target):
    assert refused(make_ticket(state), target, make_move()) == "ticket-closed"


def test_a_move_out_of_order_names_the_moves_there_are():
    with pytest.raises(RefusedError, match="agreed, declined, void") as refusal:
        check_move(make_ticket("open"), TicketState.BOOKED, make_move())

    assert refusal.value.code == "no-such-move"


FAILED = ProofFacts(ProofKind.READING, NOON, fault_is_gone=False)


@pytest.mark.parametrize(
    ("state", "target", "changes", "code"),
    [
        ("open", "agreed", {"person": " "}, "agreement-without-person"),
        ("open", "agreed", {"at": None}, "agreement-without-moment"),
        ("agreed", "booked", {"visit": None}, "booking-without-visit"),
        ("booked", "booked", {"visit": None}, "booking-without-visit"),
        ("booked", "agreed", {"reason": ""}, "unbooking-without-reason"),
        ("booked", "mended", {"visit": None}, "mending-without-visit"),
        ("booked", "mended", {"visit": VisitFacts(DAY)}, "mending-without-technician"),
        ("booked", "mended", {"at": None}, "mending-without-moment"),
        ("mended", "proven", {"proof": None}, "proof-missing"),
        (
            "mended", "proven", {"proof": ProofFacts(ProofKind.READING, NOON)},
            "proof-does-not-fit",
        ),
        (
            "mended", "proven", {"proof": ProofFacts(ProofKind.PHOTO, NOON, fault_is_gone=False)},
            "proof-shows-fault",
        ),
        ("mended", "booked", {}, "reopening-without-failed-proof"),
        ("mended", "booked", {"proof": None}, "reopening-without-failed-proof"),
        ("mended", "booked", {"proof": FAILED, "visit": None}, "booking-without-visit"),
        ("open", "declined", {"person": ""}, "declined-without-person"),
        ("agreed", "void", {"reason": "  "}, "void-without-reason"),
    ],
)  # fmt: skip
def test_each_step_is_refused_by_name_without_what_it_asks_for(state, target, changes, code):
    assert refused(make_ticket(state), target, make_move(**changes)) == code


@pytest.mark.parametrize(
    ("state", "target", "changes", "field"),
    [
        ("open", "agreed", {"person": " "}, "person"),
        ("open", "agreed", {"at": None}, "agreed_at"),
        ("agreed", "booked", {"visit": None}, "visit"),
        ("booked", "agreed", {"reason": ""}, "reason"),
        ("booked", "mended", {"visit": None}, "visit"),
        ("booked", "mended", {"visit": VisitFacts(DAY)}, "visit"),
        ("booked", "mended", {"at": None}, "mended_at"),
        ("mended", "proven", {"proof": None}, "kind"),
        ("mended", "proven", {"proof": ProofFacts(ProofKind.READING, NOON)}, "kind"),
        ("mended", "booked", {}, "state"),
        ("open", "declined", {"person": ""}, "person"),
        ("agreed", "void", {"reason": "  "}, "reason"),
        ("void", "agreed", {}, "state"),
        ("open", "mended", {}, "state"),
    ],
)
def test_a_refusal_names_what_cures_it(state, target, changes, field):
    with pytest.raises(RefusedError) as refusal:
        check_move(make_ticket(state), TicketState(target), make_move(**changes))

    assert refusal.value.field == field


@pytest.mark.parametrize("state", ["agreed", "booked"])
@pytest.mark.parametrize(
    "visit",
    [
        VisitFacts(DAY),
        VisitFacts(DAY, "Bo Fitter"),
        VisitFacts(DAY + timedelta(1), "Bo Fitter", (LICENCE,)),
    ],
)
def test_a_refusal_about_a_licence_names_the_visit(state, visit):
    target = TicketState.BOOKED if state == "agreed" else TicketState.MENDED
    ticket = make_ticket(state, licence_asked=True)

    with pytest.raises(RefusedError) as refusal:
        check_move(ticket, target, make_move(visit=visit))

    assert refusal.value.field == "visit"


@pytest.mark.parametrize(
    ("state", "target", "facts"),
    [
        ("open", "agreed", {"person": "Ada Client", "at": NOON}),
        ("agreed", "booked", {"visit": VisitFacts(DAY)}),
        ("booked", "booked", {"visit": VisitFacts(DAY)}),
        ("booked", "agreed", {"reason": "visit called off"}),
        ("booked", "mended", {"visit": VisitFacts(DAY, "Bo Fitter"), "at": NOON}),
        ("mended", "proven", {"proof": ProofFacts(ProofKind.FUNCTION_CHECK, NOON)}),
        ("mended", "booked", {"visit": VisitFacts(DAY), "proof": FAILED}),
        ("booked", "declined", {"person": "Ada Client"}),
        ("open", "void", {"reason": "entered twice"}),
    ],
)
def test_each_step_asks_for_nothing_more(state, target, facts):
    assert check_move(make_ticket(state), TicketState(target), MoveFacts(**facts)) is None


@pytest.mark.parametrize("state", ["agreed", "booked"])
@pytest.mark.parametrize(
    ("visit", "code"),
    [
        (VisitFacts(DAY), "technician-missing"),
        (VisitFacts(DAY, "Bo Fitter"), "licence-missing"),
        (VisitFacts(DAY + timedelta(1), "Bo Fitter", (LICENCE,)), "licence-not-valid"),
        (VisitFacts(DAY, "Bo Fitter", (replace(LICENCE, number=" "),)), "licence-not-valid"),
        (
            VisitFacts(DAY, "Bo Fitter", (replace(LICENCE, valid_from_date=DAY + timedelta(1)),)),
            "licence-not-valid",
        ),
    ],
)
def test_licensed_work_is_not_booked_without_a_licence_valid_that_day(state, visit, code):
    licensed = (
        make_ticket(state, FaultKind.VALVE_DOES_NOT_CLOSE),
        make_ticket(state, opens_main_line=True),
        make_ticket(state, licence_asked=True),
        make_ticket(
            state, FaultKind.VALVE_DOES_NOT_OPEN, opens_main_line=False, licence_asked=True
        ),
    )
    for ticket in licensed:
        assert refused(ticket, "booked", make_move(visit=visit)) == code
        check_move(ticket, TicketState.BOOKED, make_move())


def test_licensed_work_is_not_mended_by_somebody_without_a_licence():
    visit = VisitFacts(DAY, "Cy Helper")
    ticket = make_ticket("booked", FaultKind.VALVE_DOES_NOT_CLOSE)

    assert refused(ticket, "mended", make_move(visit=visit)) == "licence-missing"
    check_move(ticket, TicketState.MENDED, make_move())


def test_the_refusal_names_technician_and_day():
    visit = VisitFacts(date(2026, 7, 1), "Bo Fitter", (LICENCE,))

    with pytest.raises(RefusedError, match=r"Bo Fitter is valid on 2026-07-01"):
        check_move(
            make_ticket("agreed", licence_asked=True), TicketState.BOOKED, make_move(visit=visit)
        )


def test_a_licence_is_valid_on_its_first_and_its_last_day_and_not_around_them():
    licence = LicenceFacts("17", DAY + timedelta(2), valid_from_date=DAY)

    assert [licence.is_valid_on(DAY + timedelta(n)) for n in range(-1, 4)] == [
        False, True, True, True, False,
    ]  # fmt: skip


def test_the_refusal_of_a_proof_names_the_ones_that_fit():
    with pytest.raises(RefusedError, match="photo does not prove it") as refusal:
        check_move(make_ticket("mended", FaultKind.WIRING), TicketState.PROVEN, make_move())

    assert refusal.value.remedy == "Bring a check of the part at work."


def test_one_valid_licence_among_several_is_enough():
    expired = LicenceFacts("3", DAY - timedelta(1))
    visit = VisitFacts(DAY, "Bo Fitter", (expired, LICENCE))

    check_move(
        make_ticket("agreed", licence_asked=True), TicketState.BOOKED, make_move(visit=visit)
    )


def test_a_valve_mended_without_opening_it_may_be_booked_without_licence():
    ticket = make_ticket("agreed", FaultKind.VALVE_DOES_NOT_OPEN, opens_main_line=False)

    check_move(ticket, TicketState.BOOKED, make_move(visit=VisitFacts(DAY)))


def test_a_proof_from_before_the_repair_proves_nothing_either_way():
    ticket = make_ticket("mended", mended_at=NOON)
    older = NOON - timedelta(minutes=1)

    good, bad = (ProofFacts(ProofKind.PHOTO, older, gone) for gone in (True, False))

    assert refused(ticket, "proven", make_move(proof=good)) == "proof-before-mending"
    assert refused(ticket, "booked", make_move(proof=bad)) == "reopening-without-failed-proof"
    check_move(ticket, TicketState.PROVEN, make_move())


@pytest.mark.parametrize("naive", ["at", "proof", "mended_at"])
def test_refuses_a_moment_without_time_zone(naive):
    moment = NOON.replace(tzinfo=None)
    ticket = make_ticket("mended", mended_at=moment if naive == "mended_at" else NOON)
    changes = {"at": {"at": moment}, "proof": {"proof": ProofFacts(ProofKind.PHOTO, moment)}}

    with pytest.raises(InvalidInputError) as refusal:
        check_move(ticket, TicketState.PROVEN, make_move(**changes.get(naive, {})))

    assert (refusal.value.code, refusal.value.field) == ("moment-without-zone", naive)


@pytest.mark.parametrize("fault", FaultKind)
@pytest.mark.parametrize("kind", ProofKind)
def test_a_proof_holds_exactly_where_it_fits_the_fault(fault, kind):
    ticket, move = make_ticket("mended", fault), make_move(proof=ProofFacts(kind, NOON))

    if kind in FITTING_PROOFS[fault]:
        check_move(ticket, TicketState.PROVEN, move)
    else:
        assert refused(ticket, "proven", move) == "proof-does-not-fit"


def test_every_fault_has_a_proof_and_a_photo_proves_nothing_that_must_run():
    assert set(FITTING_PROOFS) == set(FaultKind)
    assert all(FITTING_PROOFS.values())
    assert {f for f, kinds in FITTING_PROOFS.items() if ProofKind.PHOTO in kinds} == {
        FaultKind.LEANING, FaultKind.TURNED, FaultKind.SUNKEN, FaultKind.TILTED_BY_RISER,
        FaultKind.BLOCKED_BY_PLANTS, FaultKind.SPRAYS_PAVING,
    }  # fmt: skip
    assert FITTING_PROOFS[FaultKind.DRY_SPOT] == {ProofKind.PAIRED_RETEST}
    assert FITTING_PROOFS[FaultKind.WIRING] == {ProofKind.FUNCTION_CHECK}
    assert ProofKind.READING in FITTING_PROOFS[FaultKind.WEAK_PRESSURE]
    assert {fault for fault in FaultKind if fault in OPENS_MAIN_LINE} == {
        FaultKind.VALVE_DOES_NOT_OPEN, FaultKind.VALVE_DOES_NOT_CLOSE,
    }  # fmt: skip


def test_the_table_of_moves_is_the_life_that_is_told():
    assert {state.value: {t.value for t in targets} for state, targets in MOVES.items()} == LIFE


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
