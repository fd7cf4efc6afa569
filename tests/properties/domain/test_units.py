"""Exact definitions of the customary units, ranges, and the way back."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.units import (
    DIMENSIONS,
    dimension,
    from_canonical,
    preferred_unit,
    to_canonical,
)

ALL_UNITS = [(name, unit) for name, of in DIMENSIONS.items() for unit in of.units]

# NIST Special Publication 811 (2008), appendix B.8 and B.9: factors printed bold are exact.
# One of the unit, in the canonical unit; composed ones by exact arithmetic from those.
ONE_OF_EACH = [
    ("depth", "mm", 1.0),
    ("depth", "cm", 10.0),
    ("depth", "in", 25.4),
    ("catch_depth", "mm", 1.0),
    ("catch_depth", "cm", 10.0),
    ("catch_depth", "in", 25.4),
    ("rain", "mm", 1.0),
    ("rain", "cm", 10.0),
    ("rain", "in", 25.4),
    ("distance", "m", 1.0),
    ("distance", "ft", 0.3048),
    ("elevation", "m", 1.0),
    ("elevation", "ft", 0.3048),
    ("area", "m2", 1.0),
    ("area", "ft2", 0.09290304),
    ("throat_area", "cm2", 1.0),
    ("throat_area", "in2", 6.4516),
    ("volume", "L", 1.0),
    ("volume", "mL", 0.001),
    ("volume", "fl_oz", 0.0295735295625),
    ("volume", "gal", 3.785411784),
    ("catch_volume", "mL", 1.0),
    ("catch_volume", "L", 1000.0),
    ("catch_volume", "fl_oz", 29.5735295625),
    ("flow", "L/min", 1.0),
    ("flow", "gpm", 3.785411784),
    ("pressure", "kPa", 1.0),
    ("pressure", "psi", 6.894757293168),
    ("pressure", "bar", 100.0),
    ("rate", "mm/h", 1.0),
    ("rate", "in/h", 25.4),
    ("speed", "m/s", 1.0),
    ("speed", "km/h", 1 / 3.6),
    ("speed", "mph", 0.44704),
]


@pytest.mark.parametrize(("name", "unit", "expected"), ONE_OF_EACH)
def test_a_unit_is_worth_its_published_exact_factor(name, unit, expected):
    assert to_canonical(1, unit, dimension(name)) == pytest.approx(expected, rel=1e-15)


def test_the_table_above_covers_every_unit_without_an_offset():
    covered = {(name, unit) for name, unit, _ in ONE_OF_EACH}

    assert set(ALL_UNITS) - covered == {
        ("temperature", "degC"), ("temperature", "degF"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32, 0.0), (-40, -40.0), (50, 10.0), (104, 40.0), (23, -5.0)]
)
def test_temperature_has_an_offset(fahrenheit, celsius):
    """NIST SP 811, appendix B.8: t/degC = (t/degF - 32)/1.8; -40 is the same in both."""
    of = dimension("temperature")

    assert to_canonical(fahrenheit, "degF", of) == pytest.approx(celsius, abs=1e-12)
    assert from_canonical(celsius, "degF", of) == pytest.approx(fahrenheit, abs=1e-12)


@pytest.mark.parametrize(("name", "unit"), ALL_UNITS)
@settings(max_examples=25, deadline=None)
@given(share=st.floats(0, 1))
def test_every_unit_finds_the_way_back(name, unit, share):
    of = DIMENSIONS[name]
    canonical = of.low + share * (of.high - of.low)

    entered = from_canonical(canonical, unit, of)

    assert to_canonical(entered, unit, of) == pytest.approx(canonical, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(("name", "unit"), ALL_UNITS)
def test_the_ends_of_the_range_are_accepted_in_every_unit(name, unit):
    of = DIMENSIONS[name]

    for end in (of.low, of.high):
        accepted = to_canonical(from_canonical(end, unit, of), unit, of)
        assert accepted == pytest.approx(end, rel=1e-12)
        assert of.low <= accepted <= of.high


@pytest.mark.parametrize(("name", "unit"), ALL_UNITS)
def test_what_lies_just_outside_of_the_range_is_refused_in_every_unit(name, unit):
    of = DIMENSIONS[name]
    step = (of.high - of.low) * 1e-6

    for outside in (of.low - step, of.high + step):
        with pytest.raises(InvalidInputError) as refused:
            to_canonical(from_canonical(outside, unit, of), unit, of)
        assert refused.value.code == "out-of-range"
        assert refused.value.remedy.endswith(f"{unit}.")


def test_the_warmest_believable_temperature_in_fahrenheit_is_the_one_that_the_message_names():
    """60 degC = 140 degF exactly; binary fractions make 60.00000000000001 of it."""
    assert to_canonical(140, "degF", dimension("temperature")) == 60.0


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 1e300, -1e300])
@pytest.mark.parametrize(("name", "unit"), ALL_UNITS)
def test_what_is_no_believable_number_is_refused(name, unit, value):
    with pytest.raises(InvalidInputError) as refused:
        to_canonical(value, unit, DIMENSIONS[name], field="depth")

    assert refused.value.field == "depth"
    assert refused.value.code == "out-of-range"


@pytest.mark.parametrize("name", DIMENSIONS)
def test_a_unit_of_another_dimension_is_refused_by_naming_the_accepted_ones(name):
    of = DIMENSIONS[name]

    with pytest.raises(InvalidInputError) as refused:
        to_canonical(1, "furlong", of, field="depth")

    assert refused.value.code == "wrong-unit"
    assert "'furlong'" in refused.value.detail
    assert refused.value.remedy == f"Use one of: {', '.join(of.units)}."


def test_names_are_words_in_messages():
    with pytest.raises(InvalidInputError, match="not a believable catch depth") as refused:
        to_canonical(400, "mm", dimension("catch_depth"))

    assert refused.value.field == "value"
    assert refused.value.remedy == "Enter a number from 0 to 300 mm."


def test_an_unknown_dimension_is_a_mistake_of_the_caller():
    with pytest.raises(KeyError):
        dimension("charm")


@pytest.mark.parametrize("name", DIMENSIONS)
def test_preferred_units_are_units_of_the_dimension_and_the_canonical_one_is_worth_one(name):
    of = DIMENSIONS[name]

    assert of.name == name
    assert preferred_unit(of, "us") in of.units
    assert preferred_unit(of, "metric") == of.canonical
    assert to_canonical(of.high, of.canonical, of) == of.high
    assert of.low < of.high


def test_people_of_each_system_meet_the_unit_that_they_know():
    assert preferred_unit(dimension("rate"), "us") == "in/h"
    assert preferred_unit(dimension("pressure"), "us") == "psi"
    assert preferred_unit(dimension("flow"), "us") == "gpm"
    assert preferred_unit(dimension("flow"), "metric") == "L/min"
    assert preferred_unit(dimension("catch_volume"), "us") == "mL"
