"""Hours of the day: read, joined, cut and closed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules_hours import (
    DAY_MIN,
    WHOLE_DAY,
    HourRange,
    clipped,
    common,
    hours_of,
    merged,
    moved,
    without,
)

RANGES = st.lists(
    st.tuples(st.integers(0, 2879), st.integers(1, 2880)).map(
        lambda pair: HourRange(min(pair), max(pair[1], pair[0] + 1))
    ),
    max_size=4,
).map(tuple)


def read(*texts):
    return hours_of(list(texts), field="hours")


def minutes(ranges):
    return {minute for each in ranges for minute in range(each.start_min, each.end_min)}


def test_hours_are_read_as_minutes_and_written_back():
    ranges = read("00:00-10:00", "19:30-24:00")

    assert ranges == (HourRange(0, 600), HourRange(1170, 1440))
    assert [each.text() for each in ranges] == ["00:00-10:00", "19:30-24:00"]


def test_an_end_before_the_start_is_on_the_next_day():
    (night,) = read("19:00-05:00")

    assert night == HourRange(1140, 1740)
    assert night.text() == "19:00-05:00"
    assert read("22:00-00:00") == read("22:00-24:00") == (HourRange(1320, 1440),)


def test_ranges_that_touch_become_one():
    assert read("05:00-08:00", "00:00-05:00", "07:00-09:00") == (HourRange(0, 540),)


@pytest.mark.parametrize(
    "text",
    ["25:00-26:00", "10:00-25:00", "24:00-05:00", "10:60-11:00", "10:00-24:01", "10:00-10:00",
     "10-16", "1:00-2:00", "10:00 - 16:00", "", "١٠:00-16:00", None, 7, {}],
)  # fmt: skip
def test_what_is_no_range_is_refused_with_the_way_to_write_it(text):
    with pytest.raises(InvalidInputError, match="such as 00:00-10:00") as refused:
        read(text)

    assert refused.value.field == "hours"


@pytest.mark.parametrize(
    ("listed", "words"), [([], "No hour is left"), (["00:00-01:00"] * 13, "too many ranges")]
)
def test_a_list_of_no_hour_or_of_too_many_is_refused(listed, words):
    with pytest.raises(InvalidInputError, match=words):
        hours_of(listed, field="closed_hours")


def test_none_from_ten_to_four_equals_two_ranges():
    assert without(WHOLE_DAY, read("10:00-16:00")) == read("00:00-10:00", "16:00-24:00")


def test_closed_hours_that_pass_midnight_close_the_early_hours_too():
    assert without(WHOLE_DAY, read("22:00-06:00")) == read("06:00-22:00")
    assert without(read("19:00-09:00"), read("22:00-06:00")) == (
        HourRange(1140, 1320), HourRange(1800, 1980),
    )  # fmt: skip
    assert without(WHOLE_DAY, WHOLE_DAY) == ()


@settings(max_examples=60, derandomize=True)
@given(RANGES, RANGES)
def test_ranges_are_sets_of_minutes(first, second):
    assert minutes(merged(first)) == minutes(first)
    assert minutes(common(first, second)) == minutes(first) & minutes(second)
    assert minutes(clipped(first, 100, DAY_MIN)) == minutes(first) & set(range(100, DAY_MIN))
    assert minutes(moved(first, -90)) == {minute - 90 for minute in minutes(first)}
    closed = {minute % DAY_MIN for minute in minutes(second)}
    assert minutes(without(merged(first), merged(second))) == {
        minute for minute in minutes(first) if minute % DAY_MIN not in closed
    }
