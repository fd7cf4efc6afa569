"""The change of a value in a year by least squares."""

from __future__ import annotations

import datetime as dt
import statistics

import pytest

from audits.domain.trends import trend
from properties.domain.errors import InvalidInputError

START = dt.datetime(2023, 4, 1, 9, tzinfo=dt.UTC)


def days(*numbers):
    return [START + dt.timedelta(days=number) for number in numbers]


# Arithmetic: 3 mm/h lost in each Gregorian mean year of 365.2425 days, whatever the gaps.
def test_a_straight_fall_is_told_as_its_slope():
    at = (0, 100, 365.2425, 900)

    found = trend(days(*at), [40 - 3 * day / 365.2425 for day in at])

    assert found.per_year == pytest.approx(-3.0)
    assert (found.n, found.span_days) == (4, 900)


# Second route: Python's own regression.
def test_scattered_values_give_the_line_of_least_squares_in_any_order():
    at, values = (700, 0, 210, 365), (33.0, 41.0, 36.5, 39.0)

    found = trend(days(*at), values)

    slope = statistics.linear_regression(at, values).slope * 365.2425
    assert found.per_year == pytest.approx(slope)


@pytest.mark.parametrize("at", [(), (0,), (0, 700), (0, 30, 89), (5, 5, 5)])
def test_few_tests_or_a_single_season_claim_nothing(at):
    found = trend(days(*at), [40.0 - day for day in at])

    assert (found.n, found.per_year) == (len(at), None)


def test_three_tests_over_ninety_days_are_enough():
    assert trend(days(0, 45, 90), [1.0, 1.0, 1.0]).per_year == pytest.approx(0.0)


def test_values_without_their_moments_are_refused():
    with pytest.raises(InvalidInputError) as refusal:
        trend(days(0, 1), [1.0])

    assert (refusal.value.code, refusal.value.field) == ("unequal-counts", "values")
