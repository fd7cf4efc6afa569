from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.evapotranspiration import (
    daylight_h,
    extraterrestrial_radiation,
    hargreaves,
)

LYON_DEG = 45 + 43 / 60


@pytest.mark.parametrize(
    ("latitude_deg", "day", "expected", "tolerance"),
    [
        (-20.0, 246, 32.2, 0.05),  # ET-04: FAO-56 (Allen et al. 1998), Example 8
        (50.8, 187, 41.09, 0.05),  # ET-09: FAO-56, Example 18
        (LYON_DEG, 196, 40.55, 0.05),  # ET-11: FAO-56, Example 20
        (-22.9, 135, 25.1, 0.1),  # ET-06: FAO-56, Example 10, from memory
    ],
)
def test_radiation_is_that_of_the_published_examples(latitude_deg, day, expected, tolerance):
    assert extraterrestrial_radiation(latitude_deg, day) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("latitude_deg", "day", "expected", "tolerance"),
    [
        (-20.0, 246, 11.7, 0.05),  # ET-05: FAO-56, Example 9
        (50.8, 187, 16.1, 0.05),  # ET-09: FAO-56, Example 18
        (-22.9, 135, 10.9, 0.06),  # ET-06: FAO-56, Example 10, from memory
        (0.0, 80, 12.0, 1e-9),  # arithmetic: the equator has twelve hours on every day
    ],
)
def test_daylight_is_that_of_the_published_examples(latitude_deg, day, expected, tolerance):
    assert daylight_h(latitude_deg, day) == pytest.approx(expected, abs=tolerance)


def test_polar_night_is_dark_and_midnight_sun_never_sets():
    assert extraterrestrial_radiation(-80.0, 172) == 0.0
    assert daylight_h(-80.0, 172) == 0.0
    assert daylight_h(80.0, 172) == pytest.approx(24.0)


def test_midnight_sun_at_the_pole_gives_the_mean_height_all_day():
    # Second route: at the pole the sun circles at the height of its declination.
    dr = 1 + 0.033 * np.cos(2 * np.pi / 365 * 172)
    declination = 0.409 * np.sin(2 * np.pi / 365 * 172 - 1.39)

    expected = 24 * 60 * 0.0820 * dr * np.sin(declination)

    assert extraterrestrial_radiation(90.0, 172) == pytest.approx(expected)


def test_radiation_is_the_integral_of_the_sun_over_the_day():
    # Second route: add up the sine of the sun's height over the hours.
    phi, day = np.radians(35.0), 100
    declination = 0.409 * np.sin(2 * np.pi / 365 * day - 1.39)
    hour_angle = np.linspace(-np.pi, np.pi, 200_001)
    height = np.sin(phi) * np.sin(declination)
    height = height + np.cos(phi) * np.cos(declination) * np.cos(hour_angle)
    dr = 1 + 0.033 * np.cos(2 * np.pi / 365 * day)

    expected = 24 * 60 * 0.0820 * dr * np.clip(height, 0, None).mean()

    assert extraterrestrial_radiation(35.0, day) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("latitude_deg", [90.01, -91.0, float("nan")])
def test_refuses_a_latitude_beyond_the_poles(latitude_deg):
    with pytest.raises(InvalidInputError) as refusal:
        extraterrestrial_radiation(latitude_deg, 100)

    assert refusal.value.field == "latitude_deg"


def test_refuses_a_day_that_no_year_has():
    with pytest.raises(InvalidInputError) as refusal:
        daylight_h(10.0, [1, 367])

    assert refusal.value.field == "day_of_year"


def test_hargreaves_of_lyon_in_july_by_a_second_route():
    # ET-11: FAO-56, Example 15 prints Rs = 0.16 sqrt(Tmax - Tmin) Ra = 22.29 MJ, so sqrt x Ra is
    # known without our own radiation; eq. 52 then gives 5.03 mm/d.
    root_times_ra = 22.29 / 0.16
    expected = 0.0023 * ((26.6 + 14.8) / 2 + 17.8) * root_times_ra / 2.45

    et0 = hargreaves(14.8, 26.6, extraterrestrial_radiation(LYON_DEG, 196))

    assert et0 == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("mid_month", "days", "tmin_c", "tmax_c", "published_in"),
    [
        (15, 31, 7.2, 17.2, 2.35),
        (105, 30, 15.6, 26.4, 5.01),
        (196, 31, 24.2, 34.2, 6.52),
        (288, 31, 16.7, 27.9, 4.28),
    ],
)
def test_houston_is_within_fifteen_percent_of_its_network(
    mid_month, days, tmin_c, tmax_c, published_in
):
    # ET-21: Texas A&M AgriLife ET network, monthly averages, from memory; the normal temperatures
    # are from memory too. Plausibility only.
    daily = hargreaves(tmin_c, tmax_c, extraterrestrial_radiation(29.8, mid_month))

    assert daily * days / 25.4 == pytest.approx(published_in, rel=0.15)


def test_hargreaves_refuses_crossed_temperatures_and_names_the_highest():
    with pytest.raises(InvalidInputError) as refusal:
        hargreaves([10.0, 20.0], [20.0, 19.9], 30.0)

    assert refusal.value.field == "tmax_c"
    assert refusal.value.code == "tmax-below-tmin"


def test_hargreaves_refuses_a_sentinel_for_missing():
    with pytest.raises(InvalidInputError) as refusal:
        hargreaves(-9999.0, 20.0, 30.0)

    assert refusal.value.field == "tmin_c"


def test_a_missing_temperature_costs_its_own_day_only():
    et0 = hargreaves([10.0, np.nan], [20.0, 20.0], 30.0)

    assert np.isnan(et0).tolist() == [False, True]


def test_arrays_broadcast_and_keep_their_shape():
    radiation = extraterrestrial_radiation(np.array([[10.0], [40.0]]), np.array([1, 100, 200]))

    assert radiation.shape == (2, 3)
    assert radiation[1, 2] == extraterrestrial_radiation(40.0, 200)
    assert hargreaves(10.0, np.full((2, 3), 25.0), radiation).shape == (2, 3)


@given(
    latitude_deg=st.floats(-90, 90),
    day=st.integers(1, 366),
    tmin_c=st.floats(-60, 40),
    span_c=st.floats(0, 20),
)
def test_neither_sunlight_nor_need_is_ever_negative(latitude_deg, day, tmin_c, span_c):
    radiation = extraterrestrial_radiation(latitude_deg, day)

    assert 0 <= radiation < 50
    assert 0 <= daylight_h(latitude_deg, day) <= 24
    assert 0 <= hargreaves(tmin_c, tmin_c + span_c, radiation) < 25
