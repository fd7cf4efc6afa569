"""Quotes and mended work for the company's books, over the API."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

from tests import cast
from tests.problems import pointers

URL = "/api/v1/repair-tickets"


def read(answer):
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    text = answer.getvalue().decode()
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_quotes_hold_a_row_for_each_line_that_stands(office_api, visit, zone):
    agreed = cast.make_ticket(visit.property, zone=zone, state="agreed", work="=HYPERLINK(1)")
    item = cast.make_price_item()
    cast.make_ticket_line(agreed, item=item)
    cast.make_ticket_line(agreed, item=item, quantity=Decimal("0.5"))
    cast.make_ticket_line(agreed, item=item, is_struck=True)
    cast.make_ticket(visit.property, state="mended", visit=visit, fault="wiring")

    rows = read(office_api.get(f"{URL}/quotes.csv?state=agreed", headers={"accept": "text/csv"}))

    assert sorted((row["quantity"], row["amount"]) for row in rows) == [
        ("0.50", "2.13"),
        ("3.00", "12.75"),
    ]
    assert {row["work"] for row in rows} == {"'=HYPERLINK(1)"}
    assert rows[0].items() >= {
        "ticket": str(agreed.pk), "state": "agreed", "customer": "Ingrid Holm",
        "zone": "Front lawn", "agreed_on": "2026-06-10", "mended_on": "", "item_code": "NZ-1",
        "unit_price": "4.25", "currency": "USD",
    }.items()  # fmt: skip
    (mended,) = read(office_api.get(f"{URL}/quotes.csv?state=mended"))
    assert (mended["mended_on"], mended["item"], mended["amount"]) == ("2026-06-10", "", "0.00")
    assert len(read(office_api.get(f"{URL}/quotes.csv"))) == 3


def test_quotes_are_for_the_office_and_of_a_state_that_exists(office_api, technician_api, garden):
    assert technician_api.get(f"{URL}/quotes.csv").status_code == 403
    assert pointers(office_api.get(f"{URL}/quotes.csv?state=lost")) == ["/state"]
    assert read(office_api.get(f"{URL}/quotes.csv")) == []


def test_quotes_take_as_many_queries_for_ten_as_for_one(
    office_api, garden, django_assert_num_queries
):
    for count in (1, 9):
        for _ in range(count):
            ticket = cast.make_ticket(garden, state="mended")
            item = cast.make_price_item(code=f"C-{ticket.pk}")
            for _ in range(2):
                cast.make_ticket_line(ticket, item=item)
        with django_assert_num_queries(5):  # token, currency, tickets, lines, items
            rows = read(office_api.get(f"{URL}/quotes.csv"))

    assert len(rows) == 20
