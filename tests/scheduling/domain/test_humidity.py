from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.air import mean_saturation_vapour_pressure, saturation_vapour_pressure
from scheduling.domain.humidity import (
    actual_vapour_pressure,
    vapour_pressure_from_dew_point,
    vapour_pressure_from_highest_humidity,
    vapour_pressure_from_humidity_range,
    vapour_pressure_from_mean_humidity,
)

NONE = float("nan")


def test_both_ends_of_the_humidity_as_in_the_published_examples():
    # ET-09: FAO-56, Example 18. Then FAO-56, Example 5, from memory.
    assert vapour_pressure_from_humidity_range(12.3, 21.5, 63.0, 84.0) == pytest.approx(
        1.409, abs=0.002
    )
    assert vapour_pressure_from_humidity_range(18.0, 25.0, 54.0, 82.0) == pytest.approx(
        1.70, abs=0.006
    )


def test_the_lesser_measurements_as_in_the_published_example():
    # FAO-56, Example 5, from memory: the highest alone, and the mean of the two.
    assert vapour_pressure_from_highest_humidity(18.0, 82.0) == pytest.approx(1.69, abs=0.006)
    assert vapour_pressure_from_mean_humidity(18.0, 25.0, 68.0) == pytest.approx(1.78, abs=0.006)


def test_the_dew_point_is_where_the_air_would_be_saturated():
    # FAO-56, Example 4, from memory: 17.65 degC of dew point at Tunis is 2.02 kPa.
    assert vapour_pressure_from_dew_point(17.65) == pytest.approx(2.02, abs=0.005)


@pytest.mark.parametrize(
    ("measured", "expected"),
    [
        ({"dew_point_c": 14.0}, saturation_vapour_pressure(14.0)),
        (
            {"humidity_min_percent": 40.0, "humidity_max_percent": 90.0},
            vapour_pressure_from_humidity_range(15.0, 30.0, 40.0, 90.0),
        ),
        ({"humidity_max_percent": 90.0}, 0.9 * saturation_vapour_pressure(15.0)),
        ({"humidity_percent": 60.0}, 0.6 * mean_saturation_vapour_pressure(15.0, 30.0)),
    ],
)
def test_each_measurement_serves_where_no_better_one_is(measured, expected):
    with_a_worse_one = {"humidity_percent": 11.0, **measured}

    assert actual_vapour_pressure(15.0, 30.0, **measured) == pytest.approx(expected)
    assert actual_vapour_pressure(15.0, 30.0, **with_a_worse_one) == pytest.approx(expected)


def test_the_lowest_humidity_alone_says_nothing():
    assert np.isnan(actual_vapour_pressure(15.0, 30.0, humidity_min_percent=40.0))
    assert np.isnan(actual_vapour_pressure(15.0, 30.0))


def test_each_day_is_served_by_its_own_best():
    days = {
        "dew_point_c": [14.0, NONE, NONE, NONE, NONE],
        "humidity_min_percent": [10.0, 40.0, NONE, NONE, NONE],
        "humidity_max_percent": [20.0, 90.0, 90.0, NONE, NONE],
        "humidity_percent": [15.0, 11.0, 11.0, 60.0, NONE],
    }

    found = actual_vapour_pressure(np.full(5, 15.0), np.full(5, 30.0), **days)

    low, high = saturation_vapour_pressure(15.0), saturation_vapour_pressure(30.0)
    expected = [
        saturation_vapour_pressure(14.0), (0.9 * low + 0.4 * high) / 2, 0.9 * low,
        0.6 * (low + high) / 2, NONE,
    ]  # fmt: skip
    assert found == pytest.approx(np.array(expected), nan_ok=True)


def test_what_contradicts_itself_counts_as_missing():
    warmer_than_the_day = actual_vapour_pressure(
        10.0, 20.0, dew_point_c=[20.0, 20.1, 20.1], humidity_percent=[50.0, 50.0, NONE]
    )
    crossed = actual_vapour_pressure(
        10.0, 20.0, humidity_min_percent=80.0, humidity_max_percent=40.0, humidity_percent=50.0
    )

    half = 0.5 * mean_saturation_vapour_pressure(10.0, 20.0)
    assert warmer_than_the_day == pytest.approx(
        np.array([saturation_vapour_pressure(20.0), half, NONE]), nan_ok=True
    )
    assert crossed == pytest.approx(half)


@pytest.mark.parametrize(
    ("measured", "field"),
    [
        ({"dew_point_c": 150.0}, "dew_point_c"),
        ({"humidity_min_percent": -1.0, "humidity_max_percent": 50.0}, "humidity_min_percent"),
        ({"humidity_max_percent": 100.5}, "humidity_max_percent"),
        ({"humidity_percent": -9999.0}, "humidity_percent"),
    ],
)
def test_refuses_what_cannot_be_and_names_it(measured, field):
    with pytest.raises(InvalidInputError) as refusal:
        actual_vapour_pressure(10.0, 20.0, **measured)

    assert refusal.value.field == field


@given(
    tmin_c=st.floats(-30, 35),
    span_c=st.floats(0, 25),
    driest=st.floats(0, 100),
    more=st.floats(0, 100),
)
@settings(derandomize=True, max_examples=60)
def test_air_never_holds_more_than_it_can(tmin_c, span_c, driest, more):
    tmax_c, dampest = tmin_c + span_c, min(driest + more, 100.0)

    ea = actual_vapour_pressure(
        tmin_c, tmax_c, humidity_min_percent=driest, humidity_max_percent=dampest
    )

    assert 0 <= ea <= mean_saturation_vapour_pressure(tmin_c, tmax_c) + 1e-12
