"""What a found program applies in a week."""

from __future__ import annotations

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.found_program import FoundProgram, weekly_depth_mm, weekly_minutes
from properties.domain.errors import InvalidInputError


def make_program(**changes):
    fields = {
        "weekdays": frozenset({2, 5}),
        "start_times": (time(4), time(6)),
        "zone_minutes": (("front", 10.0), ("back", 15.0)),
    }
    return FoundProgram(**(fields | changes))


def test_minutes_are_waterings_times_starts_times_minutes_times_percent():
    # Arithmetic: 2 days x 2 starts x 10 min x 80 %.
    assert weekly_minutes([make_program()], "front", 80) == pytest.approx(32)


def test_every_so_many_days_counts_in_a_mean_week():
    every_third_day = make_program(weekdays=None, interval_days=3)

    assert weekly_minutes([every_third_day], "front", 100) == pytest.approx(7 / 3 * 2 * 10)


def test_a_leftover_program_adds_its_water():
    leftover = make_program(weekdays=frozenset(range(7)), start_times=(time(18),))

    assert weekly_minutes([make_program(), leftover], "back", 100) == pytest.approx(60 + 105)


def test_a_zone_in_no_program_gets_nothing():
    assert weekly_minutes([make_program()], "side", 100) == 0
    assert weekly_minutes([], "front", 100) == 0


def test_depth_is_minutes_at_the_rate():
    # Arithmetic: 40 min a week at 30 mm/h.
    assert weekly_depth_mm([make_program()], "front", 100, 30.0) == pytest.approx(20)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"start_times": ()}, "start_times"),
        ({"start_times": (time(4), time(4))}, "start_times"),
        ({"zone_minutes": (("front", -1.0),)}, "zone_minutes"),
        ({"zone_minutes": (("front", float("nan")),)}, "zone_minutes"),
        ({"zone_minutes": (("front", 1.0), ("front", 2.0))}, "zone_minutes"),
        ({"weekdays": frozenset()}, "weekdays"),
        ({"weekdays": frozenset({7})}, "weekdays"),
        ({"weekdays": None}, "weekdays"),
        ({"interval_days": 3}, "weekdays"),
        ({"weekdays": None, "interval_days": 0}, "interval_days"),
        ({"weekdays": None, "interval_days": 32}, "interval_days"),
        ({"weekdays": None, "interval_days": 2.5}, "interval_days"),
    ],
)
def test_refuses_a_program_that_no_controller_holds(changes, field):
    with pytest.raises(InvalidInputError) as refusal:
        make_program(**changes)

    assert refusal.value.field == field
    assert refusal.value.remedy


@pytest.mark.parametrize("percent", [-1, 300.5, float("nan"), float("inf")])
def test_refuses_a_percentage_outside_0_to_300(percent):
    with pytest.raises(InvalidInputError):
        weekly_minutes([make_program()], "front", percent)


def test_refuses_an_impossible_rate():
    with pytest.raises(InvalidInputError):
        weekly_depth_mm([make_program()], "front", 100, -1.0)


@given(st.frozensets(st.integers(0, 6), min_size=1), st.floats(0, 1440), st.floats(0, 300))
def test_programs_add_up_and_percent_scales(weekdays, minutes, percent):
    program = make_program(weekdays=weekdays, zone_minutes=(("front", minutes),))

    once = weekly_minutes([program], "front", percent)

    assert once == pytest.approx(weekly_minutes([program], "front", 100) * percent / 100)
    assert weekly_minutes([program, program], "front", percent) == pytest.approx(2 * once)
