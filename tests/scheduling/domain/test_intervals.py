from __future__ import annotations

import pytest

from scheduling.domain.intervals import Ceiling, choose_rhythm, lowest


def choose(need, capacity_mm, *, shortest=1, longest=31, weekdays=None):
    return choose_rhythm(
        need,
        Ceiling(capacity_mm, "store"),
        shortest_days=shortest,
        longest_days=longest,
        allowed_weekdays=None if weekdays is None else frozenset(weekdays),
    )


@pytest.mark.parametrize(
    ("need", "capacity_mm", "days"),
    # SOIL-24, arithmetic: 12.954 mm over 3.81 mm/d is 3.4 days, rounded down.
    [(3.81, 12.954, 3), (5.0, 15.0, 3), (0.1, 0.3, 3), (5.01, 15.0, 2), (20.0, 15.0, 1)],
)
def test_days_between_are_capacity_over_need_rounded_down(need, capacity_mm, days):
    rhythm = choose(need, capacity_mm)

    assert (rhythm.gaps_days, rhythm.weekdays, rhythm.code) == ((days,), None, "store")


def test_the_shortest_and_the_longest_days_bind_and_say_so():
    assert choose(5.0, 15.0, shortest=4).gaps_days == (4,)
    assert choose(5.0, 15.0, shortest=4).code == "shortest-days"
    assert choose(0.2, 15.0, longest=14).gaps_days == (14,)
    assert choose(0.2, 15.0, longest=14).code == "longest-days"


def test_a_shortest_time_beyond_the_controllers_longest_holds():
    assert choose(0.2, 15.0, shortest=20, longest=14).gaps_days == (20,)


def test_wednesday_and_saturday_are_three_and_four_days_apart():
    rhythm = choose(4.0, 16.0, weekdays={2, 5})

    assert rhythm.weekdays == (2, 5)
    assert rhythm.gaps_days == (3, 4)
    assert rhythm.longest_gap_days == 4
    assert rhythm.code == "weekdays"
    assert rhythm.days_a_week == 2


def test_one_setting_gives_the_week_exactly_what_the_real_gaps_ask():
    rhythm = choose(4.0, 14.0, weekdays={2, 5})

    # The four-day gap asks 16 mm and the roots hold 14: (3 x 4 + 14) / 2.
    assert rhythm.net_mm(4.0, Ceiling(14.0, "store"), 14.0) == 13.0
    assert rhythm.gap_nets_mm(4.0, Ceiling(14.0, "store")) == (12.0, 14.0)


def test_no_more_of_the_allowed_days_are_taken_than_needed():
    assert choose(2.0, 14.0, weekdays={0, 2, 4}).weekdays == (0,)
    assert choose(3.0, 12.0, weekdays={0, 2, 4, 6}).longest_gap_days <= 4
    assert len(choose(3.0, 12.0, weekdays={0, 2, 4, 6}).weekdays) == 2


def test_days_are_spread_when_the_same_number_would_do():
    assert choose(4.0, 16.0, weekdays={0, 1, 3}).gaps_days == (3, 4)


def test_a_store_for_weeks_is_watered_every_other_week():
    rhythm = choose(1.0, 15.0, weekdays={2, 5})

    assert rhythm.gaps_days == (14,)
    assert rhythm.days_a_week == 0.5


def test_seven_allowed_days_leave_the_interval_free():
    assert choose(5.0, 15.0, weekdays=range(7)).weekdays is None


def test_the_shortest_time_rules_out_neighbouring_days():
    rhythm = choose(9.0, 15.0, shortest=3, weekdays={0, 1, 3})

    assert min(rhythm.gaps_days) >= 3


def test_the_longest_time_yields_where_the_rules_leave_no_other():
    assert choose(1.0, 30.0, longest=5, weekdays={3}).gaps_days == (7,)


def test_the_lowest_ceiling_binds_and_the_first_of_equals():
    assert lowest(Ceiling(2.0, "a"), Ceiling(1.0, "b"), Ceiling(1.0, "c")).code == "b"
