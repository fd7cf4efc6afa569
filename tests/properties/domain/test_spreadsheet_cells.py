"""Cells: numbers in two ways of writing, units, choices, days; and no text that runs."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.spreadsheet_cells import (
    Limits,
    as_meant,
    cell_of,
    choice_words,
    harmless,
    read_cell,
)
from properties.domain.spreadsheet_columns import Column, Kind, Takes
from properties.domain.spreadsheet_numbers import DayOrder, Writing, day_in, number_in
from properties.domain.units import dimension

POINT = Writing()
COMMA = Writing(has_decimal_comma=True)
GUESSED = Writing(has_decimal_comma=True, is_sure=False)
AREA = Column(Kind.ZONES, "area", "Area", Takes.QUANTITY, dimension="area")
ROOTS = Column(Kind.ZONES, "root_depths", "Root depth", Takes.MONTHS, dimension="depth")
TEXT = Column(Kind.ZONES, "name", "Name")


def column(takes):
    return Column(Kind.ZONES, "x", "X", takes)


def read(text, of, *, unit=None, writing=POINT, limits=None):
    return read_cell(text, of, unit, writing, limits or Limits())


@pytest.mark.parametrize(
    ("text", "writing", "number"),
    [
        ("12.5", POINT, 12.5), ("1,234.5", POINT, 1234.5), ("1 234,5", COMMA, 1234.5),
        ("1\u202f234", POINT, 1234), ("-.5", POINT, -0.5), ("\u22123", POINT, -3),
        ("1e3", POINT, 1000), ("12,5", COMMA, 12.5), ("1.234,5", COMMA, 1234.5),
        ("12.5", GUESSED, 12.5), ("12,50", GUESSED, 12.5), ("0.125", GUESSED, 0.125),
        ("40.42345", GUESSED, 40.42345), ("1.234", COMMA, 1234), ("7", GUESSED, 7),
    ],
)  # fmt: skip
def test_numbers_are_read_as_people_write_them(text, writing, number):
    assert number_in(text, writing, field="x") == number


@pytest.mark.parametrize(
    ("text", "writing", "code"),
    [
        ("1.234", GUESSED, "ambiguous-number"), ("1,234", GUESSED, "ambiguous-number"),
        ("12,5", POINT, "not-a-number"), ("12.5", COMMA, "not-a-number"),
        ("high", POINT, "not-a-number"), ("1e999", POINT, "not-a-number"),
        ("nan", POINT, "not-a-number"), ("e5", POINT, "not-a-number"),
        ("1,23,4", POINT, "not-a-number"), ("--1", POINT, "not-a-number"),
        ("=1+1", POINT, "not-a-number"), ("٣", POINT, "not-a-number"),
    ],
)  # fmt: skip
def test_what_is_no_number_or_two_is_refused(text, writing, code):
    with pytest.raises(InvalidInputError) as refusal:
        number_in(text, writing, field="x")

    assert refusal.value.code == code
    assert refusal.value.remedy


@pytest.mark.parametrize(
    ("text", "unit", "entered"),
    [
        ("500", "ft2", {"value": 500, "unit": "ft2"}),
        ("500", "m2", {"value": 500, "unit": "m2"}),
        ("46.5 m²", "ft2", {"value": 46.5, "unit": "m2"}),
        ("1,500 sq. ft.", None, {"value": 1500, "unit": "ft2"}),
    ],
)
def test_a_quantity_keeps_what_was_entered(text, unit, entered):
    cell = read(text, AREA, unit=unit)

    factor = {"ft2": 0.3048**2, "m2": 1.0}[entered["unit"]]
    assert cell.entered == entered
    assert cell.value == pytest.approx(entered["value"] * factor)


@pytest.mark.parametrize(
    ("text", "unit", "code"),
    [("500", None, "no-unit"), ("5 psi", "m2", "wrong-unit"), ("-4", "m2", "out-of-range")],
)
def test_a_quantity_of_no_or_a_wrong_unit_is_refused(text, unit, code):
    with pytest.raises(InvalidInputError) as refusal:
        read(text, AREA, unit=unit)

    assert (refusal.value.field, refusal.value.code) == ("area", code)


def test_months_are_one_number_or_twelve():
    assert read("6", ROOTS, unit="in").value == pytest.approx([152.4] * 12)
    assert read(" ".join("123456789012"), ROOTS, unit="mm").value[10] == 1
    with pytest.raises(InvalidInputError, match="2 numbers"):
        read("6 7", ROOTS, unit="in")


@pytest.mark.parametrize(
    ("takes", "text", "value"),
    [
        (Takes.YES_NO, "Yes", True), (Takes.YES_NO, "0", False), (Takes.YES_NO, "x", True),
        (Takes.WHOLE, "4.0", 4), (Takes.MONEY, "1.25", Decimal("1.2500")),
        (Takes.DATE, "2026-03-14", dt.date(2026, 3, 14)), (Takes.TEXT, "abc", "abc"),
    ],
)  # fmt: skip
def test_cells_of_other_columns(takes, text, value):
    assert read(text, column(takes)).value == value


@pytest.mark.parametrize(
    ("takes", "text", "code"),
    [
        (Takes.YES_NO, "perhaps", "not-yes-or-no"), (Takes.WHOLE, "4.5", "not-whole"),
        (Takes.WHOLE, "1e12", "not-whole"), (Takes.DATE, "3/14/2026", "not-a-day"),
        (Takes.DATE, "2026-02-30", "not-a-day"), (Takes.TEXT, "a\0b", "no-letters"),
        (Takes.TEXT, "x" * 4001, "too-long"), (Takes.CHOICE, "x", "not-a-choice"),
    ],
)  # fmt: skip
def test_what_a_column_does_not_take_is_refused_by_its_name(takes, text, code):
    with pytest.raises(InvalidInputError) as refusal:
        read(text, column(takes))

    assert (refusal.value.field, refusal.value.code) == ("x", code)


def test_days_in_another_order_are_read_when_the_office_said_so():
    month_first, day_first = (Writing(day_order=order) for order in DayOrder)

    assert day_in("3/4/2026", month_first, field="x") == dt.date(2026, 3, 4)
    assert day_in("3.4.2026", day_first, field="x") == dt.date(2026, 4, 3)


def test_a_choice_is_known_by_value_and_label():
    limits = Limits(choices=choice_words({"": "None", "cool_turf": "Cool grass"}))

    for text in ("cool_turf", "Cool turf", "COOL GRASS"):
        assert read(text, column(Takes.CHOICE), limits=limits).value == "cool_turf"


def test_a_text_longer_than_its_field_is_refused():
    with pytest.raises(InvalidInputError, match="4 signs are more than the 3"):
        read("abcd", TEXT, limits=Limits(longest=3))


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"), ("+1 555", "'+1 555"), ("-", "'-"), ("@x", "'@x"), ("\tx", "'\tx"),
        ("-5", "-5"), ("+1.5", "+1.5"), ("'=x", "''=x"), ("a=b", "a=b"), ("'tis", "'tis"),
        ("\r=", "'\r="), ("-5=", "'-5="),
    ],
)  # fmt: skip
def test_no_text_runs_as_a_formula_and_none_is_changed_on_the_way(text, cell):
    assert harmless(text) == cell
    assert as_meant(cell) == text.strip()


@given(text=st.text(max_size=8) | st.text("'=+-@\t\r5", max_size=5))
def test_every_text_comes_back_trimmed(text):
    assert as_meant(harmless(text)) == text.strip()
    assert not harmless(text).startswith(("=", "@", "\t", "\r"))


@given(
    canonical=st.floats(0.1, 1e6), unit=st.sampled_from(["ft2", "m2"]), has_entered=st.booleans()
)
def test_every_quantity_comes_back(canonical, unit, has_entered):
    entered = {"value": canonical, "unit": "m2"} if has_entered else None

    cell = cell_of(canonical, AREA, unit, entered)

    assert read(cell, AREA, unit=unit).value == pytest.approx(canonical, rel=1e-10)


@given(months=st.lists(st.floats(25, 3000), min_size=12, max_size=12))
def test_all_months_come_back(months):
    cell = cell_of(months, ROOTS, "in", None)

    assert read(cell, ROOTS, unit="in").value == pytest.approx(months, rel=1e-10)


@given(text=st.text(max_size=20), takes=st.sampled_from(Takes))
def test_whatever_stands_in_a_cell_it_is_read_or_refused(text, takes):
    of = Column(Kind.ZONES, "x", "X", takes, dimension="area")
    try:
        read(text, of, unit=dimension("area").canonical, writing=GUESSED)
    except InvalidInputError as refusal:
        assert refusal.detail
        assert refusal.remedy
