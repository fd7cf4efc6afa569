"""Meter readings as periods; numbers are arithmetic."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.meter_periods import MeteredDays, MeterPoint, meter_periods

FIRST = dt.date(2021, 5, 1)


def on(day, litres, is_reset=False):
    return MeterPoint(FIRST + dt.timedelta(days=day), litres, is_reset)


def make_days(replayed, most=None):
    values = np.array(replayed, dtype=float)
    dates = np.datetime64(FIRST) + np.arange(values.size)
    return MeteredDays(dates, values, values if most is None else np.array(most, dtype=float))


def test_a_period_holds_the_days_after_its_first_reading():
    days = make_days([100, 1, 2, 3, 4, 5])

    found = meter_periods([on(0, 50), on(2, 80), on(5, 200)], days)

    assert found.metered_l.tolist() == [30, 120]
    assert found.replayed_l.tolist() == [1 + 2, 3 + 4 + 5]
    assert found.days.tolist() == [2, 3]
    assert found.is_idle.tolist() == [False, False]


def test_a_period_in_which_the_meter_changed_is_left_out():
    days = make_days([1] * 10)

    found = meter_periods([on(0, 50), on(3, 80), on(6, 5, is_reset=True), on(9, 45)], days)

    assert found.metered_l.tolist() == [30, 40]
    assert found.unusable == 1


def test_several_readings_of_a_day_belong_to_the_period_that_ends_there():
    days = make_days([1] * 10)

    found = meter_periods([on(0, 10), on(0, 20), on(4, 50), on(4, 57), on(8, 60)], days)

    assert found.metered_l.tolist() == [37, 3]
    assert found.days.tolist() == [4, 4]


def test_a_reset_among_the_readings_of_a_day_spoils_its_period():
    days = make_days([1] * 10)

    found = meter_periods([on(0, 10), on(4, 50), on(4, 0, is_reset=True), on(8, 9)], days)

    assert (found.metered_l.tolist(), found.unusable) == ([9], 1)


def test_a_period_is_idle_where_next_to_nothing_may_have_run():
    # 0.4 of 10 L/d is under the twentieth; what ran by the other way of watering counts as well.
    days = make_days([0, 10, 10, 0, 0, 0.4, 0.4, 0, 0], [0, 10, 10, 8, 8, 0.4, 0.4, 0, 0])

    found = meter_periods([on(0, 0), on(2, 9), on(4, 9), on(6, 9), on(8, 9)], days)

    assert found.is_idle.tolist() == [False, False, True, True]


@pytest.mark.parametrize("points", [[], [on(0, 1)], [on(0, 1), on(0, 2)]])
def test_without_two_days_there_is_no_period(points):
    assert meter_periods(points, make_days([1] * 5)).metered_l.size == 0


@pytest.mark.parametrize(
    ("points", "field", "remedy"),
    [
        ([on(3, 1), on(1, 2)], "read_on", "earlier reading first"),
        ([on(1, 9), on(3, 2)], "reading_l", "the meter was another one"),
        ([on(0, 1), on(9, 2)], "dates", "Replay all days"),
        ([on(-3, 1), on(2, 2)], "dates", "Replay all days"),
    ],
)
def test_readings_that_cannot_be_are_refused(points, field, remedy):
    with pytest.raises(InvalidInputError, match=remedy) as refusal:
        meter_periods(points, make_days([1] * 5))

    assert refusal.value.field == field
