"""Starts that overlap, against a grid of minutes on which every run is laid out."""

from __future__ import annotations

from datetime import time
from itertools import combinations_with_replacement, product
from math import lcm

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audits.domain.found_program import FoundProgram
from audits.domain.program_overlaps import overlaps

DAY = 1440
EVERY_DAY = frozenset(range(7))


def make_program(name="A", starts=("05:00",), minutes=(30,), weekdays=(0, 3), interval=None):
    return FoundProgram(
        name=name,
        weekdays=None if interval else frozenset(weekdays),
        interval_days=interval,
        start_times=tuple(time.fromisoformat(start) for start in starts),
        zone_minutes=tuple((f"zone {at}", float(each)) for at, each in enumerate(minutes)),
    )


def pairs(*programs, percent=100.0):
    return [(o.first.name, o.second.name) for o in overlaps(programs, percent)]


def test_a_start_before_the_other_has_run_out_overlaps_it():
    one = make_program(minutes=(30, 31), starts=("05:00",))
    other = make_program("B", starts=("06:00",))

    (overlap,) = overlaps([one, other], 100)

    assert (overlap.first.name, overlap.second.name) == ("A", "B")
    assert (overlap.run_min, overlap.gap_min) == (61, 60)
    assert (overlap.first_start, overlap.second_start) == (time(5), time(6))


def test_a_start_in_the_minute_in_which_the_other_ends_does_not():
    one = make_program(minutes=(30, 30), starts=("05:00",))

    assert pairs(one, make_program("B", starts=("06:00",))) == []


def test_programs_that_share_no_day_do_not_overlap():
    monday, tuesday = make_program(weekdays=[0]), make_program("B", weekdays=[1])

    assert pairs(monday, tuesday) == []


def test_a_run_past_midnight_reaches_the_next_day_and_sunday_reaches_monday():
    sunday = make_program(starts=("23:30",), minutes=(60,), weekdays=[6])
    monday = make_program("B", starts=("00:15",), weekdays=[0])

    assert pairs(sunday, monday) == [("A", "B")]
    assert pairs(monday, sunday) == [("A", "B")]
    assert pairs(sunday, make_program("B", starts=("00:15",), weekdays=[6])) == []


def test_the_seasonal_percentage_lengthens_and_shortens_the_runs():
    one, other = make_program(minutes=(40,)), make_program("B", starts=("06:00",))

    assert [pairs(one, other, percent=percent) for percent in (100, 150, 151, 0)] == [
        [], [], [("A", "B")], [],
    ]  # fmt: skip


def test_a_program_overlaps_itself_over_two_starts_and_over_a_day_too_long():
    twice = make_program(starts=("05:00", "05:20"))
    endless = make_program("B", minutes=(1000, 500), weekdays=[0, 1])

    assert pairs(twice) == [("A", "A")]
    assert pairs(endless) == [("B", "B")]
    assert pairs(make_program("B", minutes=(1000, 500), weekdays=[0, 2])) == []


def test_a_program_without_zones_runs_nothing():
    assert pairs(make_program(minutes=()), make_program("B", starts=("05:00",))) == []


@pytest.mark.parametrize(
    ("one", "other", "meets"),
    [
        # Arithmetic: every 2 days meets each weekday within two weeks.
        ({"interval": 2}, {"weekdays": [3]}, True),
        # Every 7 or 14 days keeps to one weekday, and nobody knows which.
        ({"interval": 7}, {"weekdays": [3]}, False),
        ({"interval": 14}, {"weekdays": [0, 1, 2, 3, 4, 5]}, False),
        ({"interval": 7}, {"weekdays": EVERY_DAY}, True),
        ({"interval": 2}, {"interval": 3}, True),
        # Two programs every other day may run on alternate days for ever.
        ({"interval": 2}, {"interval": 2}, False),
        ({"interval": 4}, {"interval": 6}, False),
        ({"interval": 1}, {"interval": 6}, True),
    ],
)
def test_a_program_by_interval_meets_another_only_where_it_must(one, other, meets):
    programs = make_program(**one), make_program("B", **other)

    assert bool(pairs(*programs)) is meets
    assert meets_on_every_phase(*programs) is meets


def test_of_several_overlaps_of_a_pair_the_closest_is_told():
    one = make_program(starts=("05:00", "12:00"), minutes=(60,))
    other = make_program("B", starts=("05:50", "12:10"), minutes=(5,))

    (overlap,) = overlaps([one, other], 100)

    assert (overlap.first_start, overlap.second_start, overlap.gap_min) == (
        time(12), time(12, 10), 10,
    )  # fmt: skip


def days_of(program, phase, horizon):
    if program.interval_days:
        return [day for day in range(horizon) if day % program.interval_days == phase]
    return [day for day in range(horizon) if day % 7 in program.weekdays]


def overlap_on_grid(one, other, percent, phases, horizon):
    """Lay every run of a whole cycle on a ring of minutes, and look for a minute that two hold."""
    owners = {}
    share = percent / 100
    for number, (program, phase) in enumerate(zip((one, other), phases, strict=True)):
        if program is one and number == 1:
            break
        for day, start in product(days_of(program, phase, horizon), program.start_times):
            begin = day * DAY + start.hour * 60 + start.minute
            length = sum(minutes for _, minutes in program.zone_minutes) * share
            for minute in range(int(length)):
                owners.setdefault((begin + minute) % (horizon * DAY), []).append(number)
    wanted = {0} if one is other else {0, 1}
    return any(len(held) > 1 and set(held) >= wanted for held in owners.values())


def meets_on_every_phase(one, other, percent=100):
    cycles = [program.interval_days or 1 for program in (one, other)]
    horizon = lcm(7, *cycles)
    return all(
        overlap_on_grid(one, other, percent, phases, horizon)
        for phases in product(*(range(cycle) for cycle in cycles))
    )


start_times = st.integers(0, 1439).map(lambda minute: f"{minute // 60:02}:{minute % 60:02}")
weekly_programs = st.builds(
    make_program,
    name=st.just("A"),
    starts=st.lists(start_times, min_size=1, max_size=2, unique=True),
    minutes=st.lists(st.sampled_from([2, 30, 240, 900]), max_size=2),
    weekdays=st.frozensets(st.integers(0, 6), min_size=1, max_size=3),
)


@settings(max_examples=120, deadline=None, derandomize=True)
@given(st.lists(weekly_programs, min_size=1, max_size=2), st.sampled_from([50, 100, 250]))
def test_overlaps_are_those_of_the_grid_of_a_week(programs, percent):
    named = [
        FoundProgram(
            name="AB"[at], weekdays=each.weekdays, start_times=each.start_times,
            zone_minutes=each.zone_minutes,
        )
        for at, each in enumerate(programs)
    ]  # fmt: skip

    found = {frozenset(pair) for pair in pairs(*named, percent=percent)}

    expected = {
        frozenset((one.name, other.name))
        for one, other in combinations_with_replacement(named, 2)
        if overlap_on_grid(one, other, percent, (0, 0), 7)
    }
    assert found == expected
