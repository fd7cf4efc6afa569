from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.air import (
    mean_saturation_vapour_pressure,
    pressure_kpa,
    psychrometric_constant,
    saturation_slope,
    saturation_vapour_pressure,
    temperatures,
    wind_at_2m,
)


@pytest.mark.parametrize(
    ("elevation_m", "expected", "tolerance"),
    [
        (1800.0, 81.8, 0.1),  # ET-01: FAO-56 (Allen et al. 1998), Example 2
        (1200.0, 87.9, 0.1),  # ET-01: FAO-56, Example 4
        (1462.4, 85.17, 0.05),  # ET-14: ASCE-EWRI 2005, Table C-2
        (0.0, 101.3, 1e-9),  # arithmetic: the air pressure that eq. 7 starts from
    ],
)
def test_pressure_is_that_of_the_published_examples(elevation_m, expected, tolerance):
    assert pressure_kpa(elevation_m) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("elevation_m", "expected", "tolerance"),
    [
        (1800.0, 0.054, 0.0005),  # ET-01: FAO-56, Example 2
        (1462.4, 0.0566, 0.0003),  # ET-14: ASCE-EWRI 2005, Table C-2
    ],
)
def test_psychrometric_constant_is_that_of_the_published_examples(elevation_m, expected, tolerance):
    assert psychrometric_constant(elevation_m) == pytest.approx(expected, abs=tolerance)


def test_saturation_is_that_of_the_published_example():
    # ET-02: FAO-56, Example 3. The mean temperature instead would give 2.30.
    assert saturation_vapour_pressure(24.5) == pytest.approx(3.075, abs=0.005)
    assert saturation_vapour_pressure(15.0) == pytest.approx(1.705, abs=0.005)
    assert mean_saturation_vapour_pressure(15.0, 24.5) == pytest.approx(2.39, abs=0.005)
    assert saturation_vapour_pressure((24.5 + 15.0) / 2) == pytest.approx(2.30, abs=0.005)


def test_saturation_and_slope_are_those_of_two_more_examples():
    # ET-09: FAO-56, Example 18. ET-13: FAO-56, Example 19, from memory, at 8 m.
    assert mean_saturation_vapour_pressure(12.3, 21.5) == pytest.approx(1.997, abs=0.005)
    assert saturation_vapour_pressure(38.0) == pytest.approx(6.625, abs=0.005)
    assert saturation_slope(38.0) == pytest.approx(0.358, abs=0.001)
    assert psychrometric_constant(8.0) == pytest.approx(0.0673, abs=0.0001)


def test_slope_is_that_of_the_published_table():
    # ET-15: ASCE-EWRI 2005, Table C-3, 1 to 10 July 2000; its temperatures are rounded.
    mean_c = [21.65, 22.9, 23.7, 22.8, 24.3, 26.0, 26.1, 26.4, 23.9, 24.2]
    printed = [0.1585, 0.1692, 0.1762, 0.1684, 0.1820, 0.1990, 0.1996, 0.2027, 0.1781, 0.1809]

    assert saturation_slope(mean_c) == pytest.approx(np.array(printed), abs=0.0006)


def test_slope_is_the_derivative_of_saturation():
    # Second route: the difference quotient.
    t = np.linspace(-40, 55, 20)
    quotient = (saturation_vapour_pressure(t + 0.01) - saturation_vapour_pressure(t - 0.01)) / 0.02

    assert saturation_slope(t) == pytest.approx(quotient, rel=1e-3)


def test_wind_at_2m_is_that_of_the_published_example():
    # ET-08: FAO-56, Example 14, from memory.
    assert wind_at_2m(3.2, 10.0) == pytest.approx(2.4, abs=0.02)
    # arithmetic: at 2 m itself the factor of eq. 47 is 1
    assert wind_at_2m(5.0, 2.0) == pytest.approx(5.0, rel=1e-3)


@given(wind_m_s=st.floats(0, 40), low_m=st.floats(0.5, 50), higher_m=st.floats(0, 50))
@settings(derandomize=True, max_examples=50)
def test_the_same_wind_measured_higher_up_means_less_at_2m(wind_m_s, low_m, higher_m):
    assert wind_at_2m(wind_m_s, low_m + higher_m) <= wind_at_2m(wind_m_s, low_m) + 1e-12


@pytest.mark.parametrize(
    ("compute", "arguments", "field"),
    [
        (pressure_kpa, (9000.0,), "elevation_m"),
        (psychrometric_constant, (float("nan"),), "elevation_m"),
        (saturation_vapour_pressure, (95.0,), "temperature_c"),
        (saturation_slope, (-9999.0,), "temperature_c"),
        (mean_saturation_vapour_pressure, (10.0, 212.0), "tmax_c"),
        (mean_saturation_vapour_pressure, (20.0, 10.0), "tmax_c"),
        (temperatures, ([10.0, -999.0], 20.0), "tmin_c"),
        (wind_at_2m, (-1.0, 2.0), "wind_m_s"),
        (wind_at_2m, (3.0, 0.1), "height_m"),  # the logarithm of eq. 47 ends there
        (wind_at_2m, (3.0, float("nan")), "height_m"),
    ],
)
def test_refuses_what_cannot_be_and_names_it(compute, arguments, field):
    with pytest.raises(InvalidInputError) as refusal:
        compute(*arguments)

    assert refusal.value.field == field
    assert refusal.value.remedy


def test_a_missing_value_stays_missing():
    assert np.isnan(saturation_vapour_pressure(np.nan))
    assert np.isnan(saturation_slope([np.nan, 20.0])).tolist() == [True, False]
    assert np.isnan(mean_saturation_vapour_pressure([10.0, np.nan], 20.0)).tolist() == [False, True]
    assert np.isnan(wind_at_2m([np.nan, 3.0], 2.0)).tolist() == [True, False]
