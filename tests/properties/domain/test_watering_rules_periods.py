"""When a rule is in force: dates, parts of the year, and the clocks."""

from __future__ import annotations

import zoneinfo
from datetime import date, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules_periods import Clock, Period, is_daylight_time

NEW_YORK = zoneinfo.ZoneInfo("America/New_York")
SYDNEY = zoneinfo.ZoneInfo("Australia/Sydney")


def changes_of(name: str, year: int = 2026) -> list[tuple[date, bool]]:
    zone = zoneinfo.ZoneInfo(name)
    days = [date(year, 1, 1) + timedelta(days=number) for number in range(365)]
    return [
        (day, is_daylight_time(day, zone))
        for before, day in pairwise(days)
        if is_daylight_time(day, zone) is not is_daylight_time(before, zone)
    ]


def nth_sunday(year: int, month: int, nth: int) -> date:
    first = date(year, month, 1)
    return first + timedelta(days=(6 - first.weekday()) % 7 + 7 * (nth - 1))


def test_in_new_york_the_second_sunday_of_march_and_the_first_of_november():
    """PLAN-07, of the St. Johns River pages: 8 March and 1 November of 2026."""
    assert changes_of("America/New_York") == [(date(2026, 3, 8), True), (date(2026, 11, 1), False)]
    for year in range(2008, 2031):
        assert changes_of("America/New_York", year) == [
            (nth_sunday(year, 3, 2), True), (nth_sunday(year, 11, 1), False),
        ]  # fmt: skip


def test_in_the_south_the_summer_passes_the_new_year():
    """New South Wales: from the first Sunday of October to the first of April (from memory)."""
    assert changes_of("Australia/Sydney") == [(date(2026, 4, 5), False), (date(2026, 10, 4), True)]
    assert is_daylight_time(date(2026, 1, 1), SYDNEY)
    assert not is_daylight_time(date(2026, 7, 1), SYDNEY)


def test_dublin_is_forward_in_summer_whatever_its_table_calls_winter():
    assert changes_of("Europe/Dublin") == [(date(2026, 3, 29), True), (date(2026, 10, 25), False)]


def test_a_place_that_keeps_its_clocks_has_standard_time_all_the_year():
    phoenix = zoneinfo.ZoneInfo("America/Phoenix")

    assert changes_of("America/Phoenix") == []
    assert Period(clock=Clock.STANDARD).holds_on(date(2026, 7, 1), phoenix)
    assert not Period(clock=Clock.DAYLIGHT).holds_on(date(2026, 7, 1), phoenix)


@settings(max_examples=80, derandomize=True)
@given(st.dates(date(2010, 1, 1), date(2036, 12, 31)), st.sampled_from([NEW_YORK, SYDNEY]))
def test_a_date_is_under_one_of_the_two_clocks_as_the_zone_itself_says(day, zone):
    daylight = Period(clock=Clock.DAYLIGHT).holds_on(day, zone)

    assert daylight is not Period(clock=Clock.STANDARD).holds_on(day, zone)
    assert daylight is bool(datetime(day.year, day.month, day.day, 12, tzinfo=zone).dst())


def test_dates_hold_with_both_their_ends():
    period = Period(first_date=date(2026, 6, 1), last_date=date(2026, 6, 3))
    held = [period.holds_on(date(2026, 5, 31) + timedelta(days=n), NEW_YORK) for n in range(5)]

    assert held == [False, True, True, True, False]


@pytest.mark.parametrize(
    ("from_day", "until_day", "inside", "outside"),
    [
        ("05-01", "09-30", ["05-01", "07-15", "09-30"], ["04-30", "10-01", "01-01"]),
        ("11-15", "03-15", ["11-15", "12-31", "01-01", "03-15"], ["11-14", "03-16", "07-01"]),
        ("02-29", "02-29", [], ["02-28", "03-01"]),
    ],
)
def test_a_part_of_the_year_may_pass_the_new_year(from_day, until_day, inside, outside):
    period = Period(from_day=from_day, until_day=until_day)

    assert all(period.holds_on(date.fromisoformat(f"2026-{day}"), NEW_YORK) for day in inside)
    assert not any(period.holds_on(date.fromisoformat(f"2026-{day}"), NEW_YORK) for day in outside)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"first_date": date(2026, 6, 2), "last_date": date(2026, 6, 1)}, "last_date"),
        ({"from_day": "05-01"}, "until_day"),
        ({"until_day": "05-01"}, "from_day"),
        ({"from_day": "13-01", "until_day": "05-01"}, "from_day"),
        ({"from_day": "05-01", "until_day": "02-30"}, "until_day"),
        ({"from_day": "5-1", "until_day": "05-02"}, "from_day"),
    ],
)
def test_a_period_that_cannot_be_is_refused(wrong, field):
    with pytest.raises(InvalidInputError) as refused:
        Period(**wrong)

    assert (refused.value.field, bool(refused.value.remedy)) == (field, True)
