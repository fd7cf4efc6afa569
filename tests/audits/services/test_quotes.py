"""Cells that a spreadsheet shows and never runs."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from dataclasses import fields, replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.selectors.quotes import QuoteEntry
from audits.services.quotes import cell, harmless, quotes_csv

ENTRY = QuoteEntry(
    ticket="0197", state="agreed", customer="Ingrid Holm", property="Holm garden", zone="Front",
    fault="leaning", work="Mend it.", opened_on=dt.date(2026, 6, 10), agreed_by="Ingrid",
    agreed_on=None, visit_on=None, mended_on=None, amount=Decimal("12.7"), currency="USD",
)  # fmt: skip
NASTY = st.text(st.sampled_from("=+-@\t\r\n'\",;1.2ä|"), max_size=8) | st.text(
    st.characters(exclude_categories=["Cs"])
)


def read(entries):
    return list(csv.reader(io.StringIO(b"".join(quotes_csv(entries)).decode(), newline="")))


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        ("=1+1", "'=1+1"),
        ("+1 555", "'+1 555"),
        ("-2+3", "'-2+3"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("-12.50", "-12.50"),
        ("+3", "+3"),
        ("-1\n", "'-1\n"),
        ("-１", "'-１"),
        ("Ünder the hedge", "Ünder the hedge"),
        (Decimal("-3"), "-3.00"),
        (Decimal("2.5"), "2.50"),
        (dt.date(2026, 6, 1), "2026-06-01"),
        (None, ""),
    ],
)
def test_a_cell_shows_its_value_and_runs_nothing(value, shown):
    assert cell(value) == shown


@given(NASTY)
def test_no_text_becomes_a_formula_and_none_is_lost(text):
    shown = harmless(text)

    assert shown in (text, "'" + text)
    assert shown[:1] not in tuple("=+-@\t\r") or re.fullmatch(r"[+-][0-9]+(\.[0-9]+)?", shown)


@given(st.lists(st.tuples(NASTY, NASTY), max_size=5))
def test_a_reader_gets_back_every_cell_of_every_entry(texts):
    entries = [replace(ENTRY, work=work, customer=customer) for work, customer in texts]

    header, *rows = read(entries)

    assert header == [field.name for field in fields(QuoteEntry)]
    told = [dict(zip(header, row, strict=True)) for row in rows]
    assert [(row["work"], row["customer"]) for row in told] == [
        (harmless(work), harmless(customer)) for work, customer in texts
    ]
    assert {row["amount"] for row in told} <= {"12.70"}


def test_the_rows_come_one_by_one():
    def endless():
        while True:
            yield ENTRY

    rows = quotes_csv(endless())

    assert next(rows).startswith(b"ticket,state,")
    assert next(rows).endswith(b"12.70,USD\r\n")
