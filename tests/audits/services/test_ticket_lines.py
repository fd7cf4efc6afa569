"""Parts and labour on a ticket."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from audits.models import TicketLine
from audits.selectors.tickets import total_of
from audits.services.price_list import add_price_item
from audits.services.ticket_lines import add_ticket_line, strike_ticket_line
from properties.domain.errors import RefusedError
from properties.models import Event
from properties.services.rows import change_row
from tests import cast

CLOSED = ["proven", "declined", "void"]


def test_the_price_of_a_line_is_frozen_when_it_is_written(garden, office):
    ticket, item = cast.make_ticket(garden), cast.make_price_item(price="4.25")
    who = {"actor": office, "now": cast.NOW}
    item.refresh_from_db()
    first = add_ticket_line(ticket, {"item": item, "quantity": Decimal(2)}, **who)
    change_row(item, {"price": Decimal("9.99")}, **who)

    second = add_ticket_line(ticket, {"item": item, "quantity": Decimal(1)}, **who)

    first.refresh_from_db()
    assert (first.unit_price, second.unit_price) == (Decimal("4.25"), Decimal("9.99"))
    assert total_of(ticket.lines.all()) == Decimal("18.49")
    assert Event.objects.filter(act="written").count() == 2


def test_a_struck_line_stays_and_costs_nothing(garden, office):
    line = cast.make_ticket_line(cast.make_ticket(garden))
    line.refresh_from_db()
    assert total_of([line]) == Decimal("12.75")

    strike_ticket_line(line, actor=office, now=cast.NOW)

    (stored,) = TicketLine.objects.all()
    assert stored.is_struck
    assert total_of([stored]) == Decimal("0.00")
    assert Event.objects.get().act == "struck"
    with pytest.raises(RefusedError) as refusal:
        strike_ticket_line(stored, actor=office, now=cast.NOW)
    assert refusal.value.code == "line-struck"
    assert Event.objects.count() == 1


@pytest.mark.parametrize("state", CLOSED)
def test_the_lines_of_a_closed_ticket_stay_as_they_are(garden, office, state):
    ticket = cast.make_ticket(garden, state=state)
    line = cast.make_ticket_line(ticket)
    values = {"item": line.item, "quantity": Decimal(1)}

    with pytest.raises(RefusedError) as adding:
        add_ticket_line(ticket, values, actor=office, now=cast.NOW)
    with pytest.raises(RefusedError) as striking:
        strike_ticket_line(line, actor=office, now=cast.NOW)

    assert adding.value.code == striking.value.code == "ticket-closed"
    assert list(TicketLine.objects.values_list("is_struck", flat=True)) == [False]
    assert not Event.objects.exists()


@pytest.mark.parametrize("state", ["open", "agreed", "booked", "mended"])
def test_a_ticket_that_is_not_closed_takes_lines(garden, office, state):
    ticket, item = cast.make_ticket(garden, state=state), cast.make_price_item(price=Decimal(1))

    add_ticket_line(ticket, {"item": item, "quantity": Decimal("0.5")}, actor=office, now=cast.NOW)

    assert TicketLine.objects.get().ticket == ticket


def test_refuses_an_item_that_is_no_longer_on_the_list(garden, office):
    item = cast.make_price_item(is_active=False)

    with pytest.raises(RefusedError) as refusal:
        add_ticket_line(
            cast.make_ticket(garden), {"item": item, "quantity": Decimal(1)},
            actor=office, now=cast.NOW,
        )  # fmt: skip

    assert (refusal.value.code, refusal.value.field) == ("item-retired", "item")
    assert not TicketLine.objects.exists()


def test_a_code_stands_once_on_the_list(office):
    values = {"code": "NZ-1", "name": "Nozzle", "kind": "part", "unit": "piece", "price": 4}
    add_price_item(values, actor=office, now=cast.NOW)

    with pytest.raises(ValidationError, match="already exists"):
        add_price_item(values, actor=office, now=cast.NOW)

    assert Event.objects.get().act == "listed"


@given(
    st.lists(
        st.tuples(
            st.decimals("0.01", "10000", places=2), st.decimals("0", "1000000", places=2),
            st.booleans(),
        )
    )
)  # fmt: skip
def test_a_total_is_the_sum_of_the_cents_that_each_line_shows(lines):
    rows = [
        TicketLine(quantity=quantity, unit_price=price, is_struck=is_struck)
        for quantity, price, is_struck in lines
    ]
    # By whole numbers: hundredths times cents, half a cent up.
    cents = [
        (int(quantity * 100) * int(price * 100) + 50) // 100
        for quantity, price, is_struck in lines
        if not is_struck
    ]

    assert total_of(rows) == Decimal(sum(cents)) / 100
