"""Quantities at the edge: what is entered, what is computed, what is refused."""

from __future__ import annotations

import json
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rest_framework import serializers

from properties.domain.units import DIMENSIONS, from_canonical, to_canonical
from properties.http.quantities import (
    EnteredFloat,
    EnteredList,
    QuantityField,
    QuantityListField,
    quantity,
    rounded,
    take_entered,
)

ALL_UNITS = [(name, unit) for name, of in DIMENSIONS.items() for unit in of.units]


class RateSerializer(serializers.Serializer):
    rate = QuantityField("rate", source="rate_mm_h", required=False, allow_null=True)
    depths = QuantityListField("depth", source="depths_mm", most=3, required=False)


def refusal_of(data: dict) -> dict:
    form = RateSerializer(data=data, context={"units": "us"})
    assert not form.is_valid()
    return form.errors


def shown(row: object, units: str = "us") -> dict:
    return dict(RateSerializer(row, context={"units": units}).data)


def row(**values: object) -> SimpleNamespace:
    return SimpleNamespace(**{"rate_mm_h": None, "depths_mm": None, "entered": {}, **values})


def test_an_entered_quantity_becomes_metric_and_is_remembered():
    form = RateSerializer(data={"rate": {"value": 2, "unit": "in/h"}})
    form.is_valid(raise_exception=True)

    rate = form.validated_data["rate_mm_h"]

    assert rate == pytest.approx(50.8, rel=1e-15)
    assert rate.entered == {"value": 2, "unit": "in/h"}


@pytest.mark.parametrize("value", [1, 1.0, 0.25, 1.50, 0, 3.3333333333333335])
def test_what_was_entered_is_given_back_exactly(value):
    entered = {"value": value, "unit": "in/h"}
    saved = row(rate_mm_h=value * 25.4, entered={"rate_mm_h": entered})

    for units in ("us", "metric"):
        assert json.dumps(shown(saved, units)["rate"]) == json.dumps(entered)


@pytest.mark.parametrize(
    ("units", "expected"),
    [("us", {"value": 1.5748, "unit": "in/h"}), ("metric", {"value": 40.0, "unit": "mm/h"})],
)
def test_a_computed_quantity_comes_in_the_units_of_the_request(units, expected):
    """40 mm/h / 25.4 = 1.574803 in/h (arithmetic), at six significant digits."""
    assert shown(row(rate_mm_h=40.0), units)["rate"] == expected


def test_no_quantity_is_null():
    assert shown(row())["rate"] is None
    assert quantity(None, DIMENSIONS["rate"], "us") is None


def test_a_row_without_the_notion_of_entered_values_shows_its_metric_numbers():
    computed = SimpleNamespace(rate_mm_h=25.4, depths_mm=[25.4, 50.8])

    assert shown(computed) == {
        "rate": {"value": 1.0, "unit": "in/h"},
        "depths": {"unit": "in", "values": [1.0, 2.0]},
    }


def test_an_entered_value_of_another_field_does_not_leak_in():
    saved = row(rate_mm_h=25.4, entered={"rate": {"value": 9, "unit": "in/h"}})

    assert shown(saved)["rate"] == {"value": 1.0, "unit": "in/h"}


@pytest.mark.parametrize(
    "wrong",
    [
        1.5,
        "1.5 in/h",
        [],
        {},
        {"value": 1},
        {"unit": "in/h"},
        {"value": 1, "unit": 3},
        {"value": 1, "unit": None},
        {"value": 1, "unit": "in/h", "extra": 1},
        {"values": [1], "unit": "in/h"},
    ],
)
def test_another_shape_is_refused_by_showing_the_right_one(wrong):
    (error,) = refusal_of({"rate": wrong})["rate"]

    assert error == 'Send an object such as {"value": 1.5, "unit": "in/h"}.'
    assert error.code == "shape"


@pytest.mark.parametrize("wrong", ["1.5", None, True, [1], {"value": 1}])
def test_a_value_that_is_no_number_is_refused(wrong):
    (error,) = refusal_of({"rate": {"value": wrong, "unit": "in/h"}})["rate"]

    assert error == "The value must be a number."
    assert error.code == "number"


@pytest.mark.parametrize(("name", "unit"), ALL_UNITS)
def test_a_unit_of_another_dimension_is_refused_by_naming_the_accepted_ones(name, unit):
    of = DIMENSIONS["rate"]
    if unit in of.units:
        return

    (error,) = refusal_of({"rate": {"value": 1, "unit": unit}})["rate"]

    assert error == f"'{unit}' is not a unit of rate. Use one of: mm/h, in/h."
    assert error.code == "wrong-unit"


@pytest.mark.parametrize(
    "wrong", [-1, 1e9, float("inf"), float("-inf"), float("nan"), 10**400, -(10**400)]
)
def test_an_absurd_value_is_refused_by_naming_the_range(wrong):
    (error,) = refusal_of({"rate": {"value": wrong, "unit": "in/h"}})["rate"]

    assert error.endswith("Enter a number from 0 to 39.3701 in/h.")
    assert error.code == "out-of-range"


def test_a_list_is_entered_and_given_back_exactly():
    entered = {"unit": "cm", "values": [1, 2.5]}
    form = RateSerializer(data={"depths": entered})
    form.is_valid(raise_exception=True)

    depths = form.validated_data["depths_mm"]

    assert list(depths) == [10.0, 25.0]
    assert depths.entered == entered
    assert shown(row(depths_mm=[10.0, 25.0], entered={"depths_mm": entered}))["depths"] == entered


@pytest.mark.parametrize("values", [[], [1, 2, 3, 4], "1", None, {"0": 1}])
def test_a_list_of_another_length_or_shape_is_refused_by_naming_the_length(values):
    (error,) = refusal_of({"depths": {"unit": "mm", "values": values}})["depths"]

    assert error == "Send from 1 to 3 values."
    assert error.code == "count"


def test_a_list_of_another_shape_is_refused_by_showing_the_right_one():
    (error,) = refusal_of({"depths": {"value": 1, "unit": "mm"}})["depths"]

    assert error == 'Send an object such as {"unit": "in", "values": [1.5, 2]}.'


def test_each_wrong_value_of_a_list_is_named_by_its_place():
    errors = refusal_of({"depths": {"unit": "mm", "values": [-1, 5, "x"]}})["depths"]

    assert set(errors["values"]) == {"0", "2"}
    assert errors["values"]["0"][0].code == "out-of-range"
    assert errors["values"]["2"][0].code == "number"


@pytest.mark.parametrize(("name", "unit"), ALL_UNITS)
@settings(max_examples=25, deadline=None)
@given(share=st.floats(0, 1), whole=st.booleans())
def test_what_is_sent_comes_back_unchanged_and_sending_it_back_changes_nothing(
    name, unit, share, whole
):
    of = DIMENSIONS[name]
    value = from_canonical(of.low + share * (of.high - of.low), unit, of)
    sent = {"value": int(value) if whole else value, "unit": unit}
    field = QuantityField(name)

    first = field.run_validation(json.loads(json.dumps(sent)))
    came_back = json.loads(json.dumps(field.to_representation((float(first), first.entered))))
    second = field.run_validation(came_back)

    assert came_back == sent
    assert type(came_back["value"]) is type(sent["value"])
    assert float(second) == float(first)
    assert second.entered == first.entered


@pytest.mark.parametrize("name", DIMENSIONS)
@pytest.mark.parametrize("units", ["us", "metric"])
@settings(max_examples=25, deadline=None)
@given(share=st.floats(0, 1))
def test_a_computed_quantity_is_true_to_six_digits(name, units, share):
    of = DIMENSIONS[name]
    canonical = of.low + share * (of.high - of.low)

    out = quantity(canonical, of, units)

    assert out["unit"] == of.preferred[units]
    back = out["value"] * of.units[out["unit"]].scale + of.units[out["unit"]].offset
    size = abs(from_canonical(canonical, out["unit"], of)) * of.units[out["unit"]].scale
    assert back == pytest.approx(canonical, abs=size * 1e-5 + 1e-9)


def test_rounding_leaves_six_significant_digits_and_no_noise():
    assert rounded(0.1 + 0.2) == 0.3
    assert rounded(1234567.0) == 1234570.0
    assert rounded(0.00012345678) == 0.000123457


def test_entered_values_are_split_off_by_field_and_plain_numbers_remain():
    values = {
        "rate_mm_h": EnteredFloat(25.4, {"value": 1, "unit": "in/h"}),
        "depths_mm": EnteredList([10.0], {"unit": "cm", "values": [1]}),
        "area_m2": None,
        "name": "Front",
    }

    entered = take_entered(values)

    assert entered == {
        "rate_mm_h": {"value": 1, "unit": "in/h"},
        "depths_mm": {"unit": "cm", "values": [1]},
    }
    assert values == {"rate_mm_h": 25.4, "depths_mm": [10.0], "area_m2": None, "name": "Front"}
    assert type(values["rate_mm_h"]) is float
    assert type(values["depths_mm"]) is list


def test_conversion_agrees_with_the_units_module():
    number = QuantityField("pressure").run_validation({"value": 50, "unit": "psi"})

    assert float(number) == to_canonical(50, "psi", DIMENSIONS["pressure"])
