"""What to change on a controller, in the words of who stands before it. All checks: arithmetic."""

from __future__ import annotations

import datetime as dt
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.program_changes import SetProgram, program_changes
from scheduling.domain.program_table import ZoneName
from scheduling.domain.programs import DayPattern

ZONES = {str(number): ZoneName(number, "Lawn") for number in range(1, 6)}
DAILY = DayPattern(weekdays=tuple(range(7)))
TUE_SAT = DayPattern(weekdays=(1, 5))


def program(name="A", pattern=TUE_SAT, starts=("04:30",), minutes=None):
    times = tuple(dt.time.fromisoformat(start) for start in starts)
    return SetProgram(name=name, pattern=pattern, starts=times, minutes=minutes or {"3": 14})


def sentences(now, then, percents=(100, 100), units="metric"):
    found = program_changes(now, then, percents=percents, zones=ZONES, units=units)
    return [change.sentence for change in found]


def test_days_starts_and_minutes_are_told_each_on_a_line():
    now = program(pattern=DAILY, starts=["06:00"], minutes={"3": 20})
    then = program(starts=["04:30", "05:30"])

    assert sentences([now], [then], units="us") == [
        "Program A: days daily -> Tue, Sat",
        "Program A: starts 6:00 AM -> 4:30 AM, 5:30 AM",
        "Program A: zone 3 Lawn: 20 -> 14 min, two starts",
    ]


def test_the_percentage_is_of_the_controller():
    assert sentences([program()], [program()], percents=(80, 100)) == [
        "Seasonal percentage: 80 % -> 100 %"
    ]


def test_the_same_under_another_letter_is_nothing_to_change():
    now = [program("B"), program("C", DAILY, minutes={"1": 5})]
    then = [program("A"), program("B", DAILY, minutes={"1": 5})]

    assert sentences(now, then) == []


def test_two_programs_of_the_same_zones_are_told_apart_by_what_they_do():
    now = [program("A"), program("B", DAILY)]
    then = [program("A", DAILY), program("B")]

    assert sentences(now, then) == []


@pytest.mark.parametrize("pattern", [DAILY, DayPattern(every_days=1)])
def test_daily_is_daily_by_weekdays_or_by_interval(pattern):
    assert sentences([program(pattern=pattern)], [program(pattern=DAILY)]) == []


def test_the_order_of_starts_does_not_matter():
    now = program(starts=["05:30", "04:30"])

    assert sentences([now], [program(starts=["04:30", "05:30"])]) == []


def test_a_program_that_is_too_many_is_switched_off():
    now = [program(), program("C", DAILY, minutes={"1": 5})]

    assert sentences(now, [program()]) == ["Program C: switch it off"]


@pytest.mark.parametrize(
    "idle",
    [program("B", pattern=None), SetProgram(name="B", pattern=DAILY, starts=(), minutes={"1": 5})],
)
def test_a_program_that_never_waters_counts_as_absent(idle):
    assert sentences([program(), idle], [program()]) == []
    assert sentences([program()], [program(), idle]) == []


def test_a_new_program_takes_a_letter_that_is_free():
    now = [program("B")]
    then = [program("A"), program("B", DAILY, minutes={"1": 5})]

    found = sentences(now, then)

    assert found == [
        "Program A: days off -> daily",
        "Program A: starts none -> 04:30",
        "Program A: zone 1 Lawn: 0 -> 5 min",
    ]


def test_a_zone_that_moves_is_taken_out_here_and_put_in_there():
    now = [program("A", minutes={"1": 5, "2": 6, "3": 7}), program("B", DAILY, minutes={"4": 8})]
    then = [program("A", minutes={"1": 5, "2": 6}), program("B", DAILY, minutes={"3": 7, "4": 8})]

    assert sentences(now, then) == [
        "Program A: zone 3 Lawn: 7 -> 0 min",
        "Program B: zone 3 Lawn: 0 -> 7 min",
    ]


def test_a_zone_that_is_no_more_is_still_told_by_its_id():
    assert sentences([program(minutes={"3": 14, "gone": 5})], [program()]) == [
        "Program A: zone gone: 5 -> 0 min"
    ]


@st.composite
def controllers(draw):
    names = draw(st.lists(st.sampled_from(string.ascii_uppercase), unique=True, max_size=4))
    days = st.sets(st.integers(0, 6), min_size=1)
    minutes = st.dictionaries(st.sampled_from(sorted(ZONES)), st.integers(1, 60), min_size=1)
    starts = st.sets(st.times().map(lambda time: time.replace(second=0, microsecond=0)), min_size=1)
    return [
        SetProgram(
            name=name,
            pattern=DayPattern(weekdays=tuple(sorted(draw(days)))),
            starts=tuple(sorted(draw(starts))),
            minutes=draw(minutes),
        )
        for name in names
    ]


def do(now, changes):
    """Type the changes in, by their data alone."""
    state = {one.name: [None, None, dict(one.minutes)] for one in now}
    days = {one.name: one.pattern.weekdays for one in now}
    for change in changes:
        mine = state.setdefault(change.program, ["off", "none", {}])
        if change.field == "minutes":
            minutes = int(change.after.split()[0])
            mine[2].pop(change.zone, None)
            mine[2] |= {change.zone: minutes} if minutes else {}
        else:
            mine[0 if change.field == "days" else 1] = change.after
    return state, days


@given(controllers(), controllers())
def test_who_types_all_changes_in_has_what_was_fitted(now, then):
    changes = program_changes(now, then, percents=(100, 100), zones=ZONES, units="metric")

    state, _ = do(now, changes)
    left = [each[2] for each in state.values() if each[0] != "off"]
    assert sorted(map(sorted, (each.items() for each in left))) == sorted(
        map(sorted, (one.minutes.items() for one in then))
    )


@given(controllers())
def test_what_is_set_so_already_needs_no_change(programs):
    assert program_changes(
        programs[::-1], programs, percents=(100, 100), zones=ZONES, units="us"
    ) == ()  # fmt: skip
