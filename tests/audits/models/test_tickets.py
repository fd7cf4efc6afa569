"""What the database itself holds true of tickets, their lines, proofs and prices."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from audits.models import PriceItem, RepairTicket, TicketLine, TicketProof, TicketState
from properties.models import Licence
from tests import cast


@pytest.mark.parametrize("state", [state.value for state in TicketState])
def test_the_cast_makes_a_whole_ticket_in_every_state(garden, state):
    ticket = cast.make_ticket(garden, state=state)

    ticket.full_clean()
    assert RepairTicket.objects.get().state == state


@pytest.mark.parametrize(
    ("state", "changes"),
    [
        ("agreed", {"agreed_by": ""}),
        ("agreed", {"agreed_at": None}),
        ("booked", {"visit": None}),
        ("booked", {"agreed_by": ""}),
        ("mended", {"mended_at": None}),
        ("mended", {"mended_by": None}),
        ("proven", {"mended_at": None}),
        ("proven", {"agreed_at": None}),
        ("declined", {"closing_word": ""}),
        ("void", {"closing_word": ""}),
        ("open", {"fault": "haunted"}),
    ],
)
def test_a_state_without_its_facts_is_not_stored(garden, state, changes):
    cast.make_ticket(garden, state=state)

    with pytest.raises(IntegrityError), transaction.atomic():
        RepairTicket.objects.update(**changes)


@pytest.fixture
def rows(garden, visit, technician):
    ticket = cast.make_ticket(garden, state="mended", visit=visit)
    cast.make_ticket_line(ticket)
    cast.make_licence(technician)
    return TicketProof.objects.create(
        ticket=ticket, visit=visit, kind="function_check", note="Ran it.", seen_at=cast.NOW,
        fault_is_gone=True, **cast.ROW,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("model", "changes"),
    [
        (PriceItem, {"price": Decimal("-0.01")}),
        (PriceItem, {"kind": "favour"}),
        (TicketLine, {"quantity": Decimal(0)}),
        (TicketLine, {"unit_price": Decimal(-1)}),
        (TicketProof, {"note": ""}),
        (TicketProof, {"kind": "rumour"}),
        (TicketProof, {"kind": "photo"}),
        (TicketProof, {"kind": "reading"}),
        (TicketProof, {"kind": "paired_retest"}),
        (Licence, {"valid_until": "2025-12-31"}),
    ],
)
def test_what_cannot_be_is_not_stored(rows, model, changes):
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.update(**changes)


@pytest.mark.parametrize(
    ("quantity", "price", "amount"),
    [("3", "4.25", "12.75"), ("0.5", "0.01", "0.01"), ("0.33", "0.01", "0.00")],
)
def test_a_line_costs_to_the_cent_with_half_a_cent_up(quantity, price, amount):
    line = TicketLine(quantity=Decimal(quantity), unit_price=Decimal(price))

    assert line.amount() == Decimal(amount)
