"""What each step of a repair ticket asks for, and that no path goes around it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from audits.domain.faults import FaultKind
from audits.domain.ticket_proofs import FITTING_PROOFS, OPENS_MAIN_LINE, ProofKind
from audits.domain.ticket_states import (
    MOVES,
    LicenceFacts,
    MoveFacts,
    ProofFacts,
    TicketState,
    VisitFacts,
    check_move,
)
from properties.domain.errors import InvalidInputError, RefusedError
from tests.audits.domain.tickets import DAY, ENDS, LICENCE, LIFE, NOON, make_move, make_ticket


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
