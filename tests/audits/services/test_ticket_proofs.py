"""Proving a repair: what each kind names, and what is refused."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import CatchTest, CupReading, FlowCheck, Photo, RepairTicket, TicketProof
from audits.services.ticket_moves import agree_ticket
from audits.services.ticket_proofs import prove_ticket
from properties.domain.errors import DomainError
from properties.models import Event
from tests import cast

HOUR = dt.timedelta(hours=1)
BEFORE, AFTER = cast.NOW - HOUR, cast.NOW + HOUR
LATER = cast.NOW + 2 * HOUR


@pytest.fixture
def ticket(garden, zone, visit):
    return cast.make_ticket(garden, state="mended", zone=zone, visit=visit, fault="leaning")


def make_flow_check(visit, zone, **changes):
    values = {"visit": visit, "zone": zone, "taken_at": AFTER, "running_kpa": 210.0, **cast.ROW}
    return FlowCheck.objects.create(**{**values, **changes})


def make_photo(visit, zone, **changes):
    values = {
        "visit": visit, "zone": zone, "taken_at": AFTER, "width_px": 4, "height_px": 3,
        "jpeg": b"x", "source_sha256": "0" * 64, **cast.ROW,
    }  # fmt: skip
    return Photo.objects.create(**{**values, **changes})


@pytest.fixture
def proofs(visit, zone):
    """Return what each kind of proof names."""
    before = cast.make_catch_test(visit, zone, taken_at=BEFORE)
    after = cast.make_catch_test(visit, zone, taken_at=AFTER)
    return {
        "paired_retest": {"test_before": before, "test_after": after},
        "reading": {"flow_check": make_flow_check(visit, zone)},
        "photo": {"photo": make_photo(visit, zone)},
        "function_check": {"note": "Ran it for five minutes.", "seen_at": AFTER},
    }


def prove(ticket, visit, kind, named, *, actor, gone=True):
    values = {"kind": kind, "visit": visit, "fault_is_gone": gone, **named}
    return prove_ticket(ticket, values, actor=actor, now=LATER)


def refused(ticket, *args, **kwargs):
    """Return field and code of the refusal, after checking that it changed nothing."""
    stored = RepairTicket.objects.values().get(pk=ticket.pk)
    counts = Event.objects.count(), TicketProof.objects.count()
    with pytest.raises(DomainError) as refusal:
        prove(ticket, *args, **kwargs)
    assert RepairTicket.objects.values().get(pk=ticket.pk) == stored
    assert (Event.objects.count(), TicketProof.objects.count()) == counts
    return refusal.value.field, refusal.value.code


@pytest.mark.parametrize(
    ("kind", "fault"),
    [
        ("paired_retest", "dry_spot"),
        ("reading", "weak_pressure"),
        ("photo", "leaning"),
        ("function_check", "wiring"),
    ],
)
def test_a_fitting_proof_proves_the_repair(ticket, visit, technician, proofs, kind, fault):
    RepairTicket.objects.update(fault=fault)
    ticket.refresh_from_db()

    proof = prove(ticket, visit, kind, proofs[kind], actor=technician)

    assert (proof.ticket, proof.seen_at, proof.fault_is_gone) == (ticket, AFTER, True)
    assert RepairTicket.objects.get().state == "proven"
    assert sorted(Event.objects.values_list("act", flat=True)) == ["proven", "seen"]


def test_a_proof_that_shows_the_fault_is_stored_and_moves_nothing(
    ticket, visit, technician, proofs
):
    named = proofs["function_check"]

    proof = prove(ticket, visit, "function_check", named, actor=technician, gone=False)

    assert TicketProof.objects.get() == proof
    assert RepairTicket.objects.get().state == "mended"
    assert Event.objects.get().act == "seen"


@pytest.mark.parametrize("gone", [True, False])
def test_refuses_a_proof_that_does_not_fit_the_fault(ticket, visit, technician, proofs, gone):
    RepairTicket.objects.update(fault="dry_spot")
    ticket.refresh_from_db()

    outcome = refused(ticket, visit, "photo", proofs["photo"], actor=technician, gone=gone)

    assert outcome == ("kind", "proof-does-not-fit")


@pytest.mark.parametrize("gone", [True, False])
@pytest.mark.parametrize(
    ("state", "code"),
    [
        ("open", "not-mended-yet"),
        ("agreed", "not-mended-yet"),
        ("booked", "not-mended-yet"),
        ("proven", "ticket-closed"),
        ("void", "ticket-closed"),
    ],
)
def test_refuses_to_prove_what_is_not_mended(garden, visit, proofs, state, code, gone):
    ticket = cast.make_ticket(garden, state=state, visit=visit)
    named = proofs["function_check"]

    outcome = refused(
        ticket, visit, "function_check", named, actor=visit.technician, gone=gone
    )  # fmt: skip

    assert outcome == ("state", code)


@pytest.mark.parametrize("kind", ["paired_retest", "reading", "photo", "function_check"])
@pytest.mark.parametrize("gone", [True, False])
def test_refuses_a_proof_from_before_the_repair(ticket, visit, proofs, kind, gone):
    fault = {"photo": "leaning", "function_check": "wiring"}.get(kind, "worn_nozzle")
    RepairTicket.objects.update(mended_at=AFTER + dt.timedelta(seconds=1), fault=fault)
    ticket.refresh_from_db()

    outcome = refused(ticket, visit, kind, proofs[kind], actor=visit.technician, gone=gone)

    telling = {"paired_retest": "test_after", "reading": "flow_check", "photo": "photo"}
    assert outcome == (telling.get(kind, "seen_at"), "proof-before-mending")


@pytest.mark.parametrize(
    ("kind", "field"),
    [
        ("paired_retest", "test_before"),
        ("paired_retest", "test_after"),
        ("reading", "flow_check"),
        ("photo", "photo"),
        ("function_check", "note"),
    ],
)
def test_refuses_a_proof_that_names_nothing(ticket, visit, technician, proofs, kind, field):
    named = {name: value for name, value in proofs[kind].items() if name != field}

    assert refused(ticket, visit, kind, named, actor=technician) == (field, "missing")


def test_refuses_evidence_of_another_kind(ticket, visit, technician, proofs):
    both = proofs["function_check"] | proofs["photo"]
    moment = proofs["photo"] | {"seen_at": AFTER}

    outcomes = [
        refused(ticket, visit, "function_check", both, actor=technician),
        refused(ticket, visit, "photo", moment, actor=technician),
    ]

    assert outcomes == [("photo", "not-of-this-kind"), ("seen_at", "not-of-this-kind")]


def test_refuses_a_visit_of_another_technician_or_property(
    ticket, visit, outsider, office, other_garden, proofs
):
    elsewhere = cast.make_visit_under_way(other_garden, visit.technician)
    named = proofs["function_check"]

    outcomes = [
        refused(ticket, visit, "function_check", named, actor=outsider),
        refused(ticket, elsewhere, "function_check", named, actor=office),
        refused(ticket, elsewhere, "photo", proofs["photo"], actor=office),
    ]

    assert outcomes == [
        ("visit", "not-your-visit"),
        ("visit", "proof-elsewhere"),
        ("visit", "proof-elsewhere"),
    ]


def test_refuses_what_was_seen_at_another_visit_or_in_another_zone(
    ticket, visit, garden, controller, technician, proofs
):
    second = cast.make_zone(controller, number=2)
    other_visit = cast.make_visit_under_way(garden, technician)
    strange = make_photo(visit, second)
    tests = {
        "test_before": cast.make_catch_test(visit, second, taken_at=BEFORE),
        "test_after": proofs["paired_retest"]["test_after"],
    }

    outcomes = [
        refused(ticket, other_visit, "photo", proofs["photo"], actor=technician),
        refused(ticket, visit, "photo", {"photo": strange}, actor=technician),
        refused(ticket, visit, "paired_retest", tests, actor=technician),
    ]

    assert outcomes == [
        ("photo", "proof-elsewhere"),
        ("photo", "proof-elsewhere"),
        ("test_before", "proof-elsewhere"),
    ]


def test_a_photo_of_the_property_may_prove_the_ticket_of_a_zone(ticket, visit, technician):
    photo = make_photo(visit, None)

    prove(ticket, visit, "photo", {"photo": photo}, actor=technician)

    assert RepairTicket.objects.get().state == "proven"


@pytest.mark.parametrize("moment", [cast.NOW + dt.timedelta(minutes=1), AFTER, LATER])
def test_refuses_a_first_test_that_is_not_from_before(ticket, visit, technician, proofs, moment):
    named = proofs["paired_retest"]
    CatchTest.objects.filter(pk=named["test_before"].pk).update(taken_at=moment)
    named["test_before"].refresh_from_db()

    outcome = refused(ticket, visit, "paired_retest", named, actor=technician)

    assert outcome == ("test_before", "retest-order")


@pytest.mark.parametrize("name", ["test_before", "test_after"])
def test_refuses_a_test_that_was_taken_back_or_replaced(
    ticket, visit, zone, technician, proofs, name
):
    named = proofs["paired_retest"]
    better = cast.make_catch_test(visit, zone, supersedes=named[name])
    replaced = refused(ticket, visit, "paired_retest", named, actor=technician)
    CatchTest.objects.filter(pk__in=[named[name].pk, better.pk]).update(
        voided_at=cast.NOW, void_reason="A cup fell over."
    )
    named[name].refresh_from_db()

    voided = refused(ticket, visit, "paired_retest", named, actor=technician)

    assert replaced == voided == (name, "test-taken-back")


def test_refuses_tests_whose_cups_do_not_pair(ticket, visit, zone, technician, proofs):
    named = proofs["paired_retest"]
    pooled = cast.make_catch_test(
        visit, zone, taken_at=BEFORE, is_pooled=True, du_lq=None, du_lh=None, cu=None
    )
    fewer = cast.make_catch_test(visit, zone, taken_at=AFTER, cups=11)

    outcomes = [
        refused(ticket, visit, "paired_retest", named | change, actor=technician)
        for change in ({"test_before": pooled}, {"test_after": fewer})
    ]

    assert outcomes == [("test_before", "pooled-cups"), ("test_after", "unequal-cup-counts")]


def test_cups_pair_by_their_noted_places(ticket, visit, technician, proofs):
    named = proofs["paired_retest"]
    for test, first in ((named["test_before"], 0.0), (named["test_after"], 5.0)):
        for reading in CupReading.objects.filter(test=test):
            CupReading.objects.filter(pk=reading.pk).update(x_m=first + reading.number, y_m=1.0)

    outcome = refused(ticket, visit, "paired_retest", named, actor=technician)

    assert outcome == ("test_after", "different-places")


def test_a_worse_number_does_not_gate_the_word_of_who_saw_it(ticket, visit, technician, proofs):
    named = proofs["paired_retest"]
    CupReading.objects.filter(test=named["test_after"]).update(depth_mm=1.0)
    CatchTest.objects.filter(pk=named["test_after"].pk).update(du_lq=0.2)
    named["test_after"].refresh_from_db()

    prove(ticket, visit, "paired_retest", named, actor=technician)

    assert RepairTicket.objects.get().state == "proven"


@pytest.mark.parametrize("gone", [True, False])
def test_a_ticket_that_moved_meanwhile_takes_no_proof(
    ticket, visit, office, technician, proofs, gone
):
    RepairTicket.objects.update(revision=2)
    named = proofs["function_check"]

    outcome = refused(ticket, visit, "function_check", named, actor=technician, gone=gone)

    assert outcome == ("state", "changed-meanwhile")


def test_a_proof_from_the_future_is_refused(ticket, visit, technician):
    named = {"note": "Ran it.", "seen_at": LATER + dt.timedelta(hours=25)}

    assert refused(ticket, visit, "function_check", named, actor=technician) == (
        "seen_at", "future",
    )  # fmt: skip


def test_nothing_moves_a_proven_ticket(ticket, visit, technician, office, proofs):
    prove(ticket, visit, "photo", proofs["photo"], actor=technician)

    with pytest.raises(DomainError) as refusal:
        agree_ticket(RepairTicket.objects.get(), person="Ingrid", actor=office, now=LATER)

    assert refusal.value.code == "ticket-closed"
