from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind, PlantType, SoilTexture
from reports.domain import formats


# Arithmetic: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 gal = 3.785411784 L, all exact.
@pytest.mark.parametrize(
    ("value", "of", "us", "metric"),
    [
        (25.4, "rate", "1.00 in/h", "25.4 mm/h"),
        (31.6, "rate", "1.24 in/h", "31.6 mm/h"),
        (44.0, "depth", "1.73 in", "44 mm"),
        (7.85, "catch_depth", "0.31 in", "7.8 mm"),
        (228.0, "area", "2,454 ft²", "228 m²"),
        (11_355.0, "volume", "3,000 gal", "11\u00a0355 L"),
    ],
)
def test_each_system_meets_the_quantity_in_its_own_unit(value, of, us, metric):
    assert formats.quantity(value, of, "us") == us
    assert formats.quantity(value, of, "metric") == metric


@given(st.floats(0, 500))
def test_a_number_is_rounded_once_and_from_the_exact_value(depth_mm):
    shown = float(formats.number(depth_mm, "depth", "us"))

    assert abs(shown - depth_mm / 25.4) <= 0.005 + 1e-9


def test_an_interval_names_both_ends_without_a_unit():
    assert formats.interval(26.1, 37.0, "rate", "us") == "1.03–1.46"


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_refuses_to_print_a_number_that_is_none(value):
    with pytest.raises(InvalidInputError, match="cannot be printed"):
        formats.number(value, "depth", "us")
    with pytest.raises(InvalidInputError, match="cannot be printed"):
        formats.percent(value)
    with pytest.raises(InvalidInputError, match="cannot be printed"):
        formats.minutes(value)


def test_dates_spell_the_month_out_in_the_order_of_the_reader():
    day = date(2026, 7, 1)

    assert formats.spelled_date(day, "us") == "July 1, 2026"
    assert formats.spelled_date(day, "metric") == "1 July 2026"


@pytest.mark.parametrize("month", [0, 13])
def test_refuses_a_month_outside_the_year(month):
    with pytest.raises(InvalidInputError, match="no month"):
        formats.month_name(month)


def test_small_counts_are_words_and_one_is_singular():
    assert formats.counted(0, "repair", "repairs") == "no repairs"
    assert formats.counted(1, "repair", "repairs") == "one repair"
    assert formats.counted(12, "repair", "repairs") == "twelve repairs"
    assert formats.counted(1300, "repair", "repairs") == "1,300 repairs"


def test_a_run_under_half_a_minute_is_not_shown_as_nothing():
    assert [formats.minutes(value) for value in (0.0, 0.3, 11.4)] == ["0", "<1", "11"]


def test_percentages_are_whole():
    assert formats.percent(0.3447) == "34%"


def test_every_kind_of_head_plant_and_soil_has_words_without_underscores():
    words = [
        *map(formats.head_words, HeadKind),
        *map(formats.plant_words, PlantType),
        *map(formats.soil_words, SoilTexture),
    ]

    assert all(words)
    assert not any("_" in word for word in words)
