"""For whom a rule is: house numbers, kinds of property, ways of watering."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.domain.watering_rules_audience import (
    Addresses,
    Audience,
    Method,
    PropertyClass,
    WaterKind,
    digits_of,
    house_number_of,
)
from tests.properties.domain.watering_districts import case


def has(audience, *args, **changes):
    asked = case(*args, **changes)
    return audience.has(asked.place, asked.use)


@pytest.mark.parametrize(
    ("street", "number"),
    [
        ("48 Kiln Street", 48), ("  7 Mill Lane", 7), ("48A Kiln Street", 48), ("48 1/2 Kiln", 48),
        ("No. 12 Kiln Street", 12), ("#12 Kiln Street", 12), ("37-12 Kiln Street", 12),
        ("48-50 Kiln Street", 50), ("100 5th Avenue", 100), ("0 Kiln Street", 0), ("48, Kiln", 48),
        ("5th Avenue", None), ("Kiln Street", None), ("PO Box 12", None), ("Highway 61", None),
        ("", None), ("The Old Mill", None), ("1234567 Kiln", None), ("4x4 Lane", None),
    ],
)  # fmt: skip
def test_the_house_number_stands_at_the_beginning_of_the_street(street, number):
    assert house_number_of(street) == number


@pytest.mark.parametrize(
    ("addresses", "text", "digits"),
    [
        ("everybody", "", set(range(10))), ("odd", "", {1, 3, 5, 7, 9}), ("no_number", "", set()),
        ("even", "", {0, 2, 4, 6, 8}), ("digits", "0-3", {0, 1, 2, 3}), ("digits", "7", {7}),
        ("digits", "0, 1,8-9", {0, 1, 8, 9}),
    ],
)  # fmt: skip
def test_last_digits_are_named_by_word_or_one_by_one(addresses, text, digits):
    assert digits_of(Addresses(addresses), text) == digits


@pytest.mark.parametrize(
    ("addresses", "text"),
    [("digits", ""), ("digits", "3-0"), ("digits", "10"), ("digits", "a"), ("digits", "1,,2"),
     ("digits", "-1"), ("odd", "1"), ("everybody", "0-9")],
)  # fmt: skip
def test_other_last_digits_are_refused(addresses, text):
    with pytest.raises(InvalidInputError) as refused:
        digits_of(Addresses(addresses), text)

    assert (refused.value.field, bool(refused.value.remedy)) == ("last_digits", True)


@settings(max_examples=60, derandomize=True)
@given(st.integers(0, 999_999))
def test_odd_and_even_and_the_digits_part_the_numbers(number):
    def names(addresses, text=""):
        digits = digits_of(Addresses(addresses), text)
        return has(Audience(last_digits=digits, takes_no_number=False), number)

    assert names("odd") is not names("even")
    assert names("odd") is (number % 2 == 1)
    assert [names("digits", text) for text in ("0-3", "4-6", "7-9")].count(True) == 1
    assert names("everybody")
    assert house_number_of(f"{number} Kiln Street") == number


def test_an_address_without_a_number_has_a_rule_of_its_own():
    odd = Audience(last_digits=frozenset({1}), takes_no_number=False)
    none_alone = Audience(last_digits=frozenset(), takes_no_number=True)

    assert not has(odd, None)
    assert (has(none_alone, None), has(none_alone, 1)) == (True, False)
    assert has(Audience(), None)


def test_classes_methods_and_waters_narrow_the_audience():
    assert has(Audience(classes=frozenset({PropertyClass.PUBLIC})), kind="public")
    assert not has(Audience(classes=frozenset({PropertyClass.PUBLIC})))
    drip = frozenset({Method.DRIP})
    assert (has(Audience(only_methods=drip)), has(Audience(exempt_methods=drip))) == (False, True)
    by_drip = {"method": "drip"}
    assert has(Audience(only_methods=drip), **by_drip)
    assert not has(Audience(exempt_methods=drip), **by_drip)
    reclaimed = frozenset({WaterKind.RECLAIMED})
    assert not has(Audience(only_waters=reclaimed), water=WaterKind.MAINS)
    assert not has(Audience(exempt_waters=reclaimed), water=WaterKind.RECLAIMED)


def test_a_rule_for_nobody_is_refused():
    drip, well = frozenset({Method.DRIP}), frozenset({WaterKind.WELL})
    for wrong, field in (
        ({"last_digits": frozenset({10})}, "last_digits"),
        ({"last_digits": frozenset(), "takes_no_number": False}, "last_digits"),
        ({"only_methods": drip, "exempt_methods": drip}, "exempt_methods"),
        ({"only_waters": well, "exempt_waters": well}, "exempt_waters"),
    ):
        with pytest.raises(InvalidInputError) as refused:
            Audience(**wrong)
        assert refused.value.field == field


def test_every_kind_of_head_is_a_method():
    assert {each.value for each in HeadKind} == {each.value for each in Method} - {
        "micro_spray", "hand",
    }  # fmt: skip
