from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain import evapotranspiration
from scheduling.domain.sunlight import (
    COAST_COEFFICIENT,
    clear_sky_radiation,
    daylight_h,
    extraterrestrial_radiation,
    solar_from_sunshine,
    solar_from_temperatures,
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


def test_distance_declination_and_sunset_are_those_of_the_published_example():
    # ET-04: FAO-56, Example 8: dr 0.985, declination 0.120 rad, sunset angle 1.527 rad.
    phi, dr, declination, sunset = np.radians(-20.0), 0.985, 0.120, 1.527
    expected = sunset * np.sin(phi) * np.sin(declination)
    expected += np.cos(phi) * np.cos(declination) * np.sin(sunset)
    expected *= 24 * 60 / np.pi * 0.0820 * dr

    assert extraterrestrial_radiation(-20.0, 246) == pytest.approx(expected, abs=0.02)
    assert daylight_h(-20.0, 246) * np.pi / 24 == pytest.approx(sunset, abs=0.0006)


@pytest.mark.parametrize(
    ("latitude_deg", "day", "sunshine_h", "expected", "tolerance"),
    [
        (-22.9, 135, 7.1, 14.5, 0.1),  # ET-06: FAO-56, Example 10, from memory
        (50.8, 187, 9.25, 22.07, 0.05),  # ET-09: FAO-56, Example 18
    ],
)
def test_sunshine_gives_the_radiation_of_the_published_examples(
    latitude_deg, day, sunshine_h, expected, tolerance
):
    ra, possible_h = extraterrestrial_radiation(latitude_deg, day), daylight_h(latitude_deg, day)

    assert solar_from_sunshine(ra, sunshine_h, possible_h) == pytest.approx(expected, abs=tolerance)


def test_temperatures_give_the_radiation_of_the_published_example():
    # ET-11: FAO-56, Example 15; on a coast the same span means more sun, as 0.19 to 0.16.
    ra = extraterrestrial_radiation(LYON_DEG, 196)

    inland = solar_from_temperatures(14.8, 26.6, ra)

    assert inland == pytest.approx(22.29, abs=0.05)
    assert solar_from_temperatures(14.8, 26.6, ra, coefficient=COAST_COEFFICIENT) == pytest.approx(
        inland * 19 / 16
    )


def test_a_clear_sky_lets_three_quarters_through_and_more_on_a_mountain():
    # FAO-56, Example 18: Rso 30.90 at 100 m under Ra 41.09, from memory.
    assert clear_sky_radiation(41.09, 100.0) == pytest.approx(30.90, abs=0.01)
    # arithmetic: eq. 37
    assert clear_sky_radiation(40.0, [0.0, 1000.0]) == pytest.approx(np.array([30.0, 30.8]))


def test_more_sunshine_than_daylight_is_sunshine_all_day_and_night_has_none():
    assert solar_from_sunshine(40.0, 14.0, 12.0) == pytest.approx(30.0)
    assert solar_from_sunshine(0.0, 0.0, 0.0) == 0.0


@pytest.mark.parametrize(
    ("compute", "arguments", "field"),
    [
        (clear_sky_radiation, (-1.0, 0.0), "radiation"),
        (clear_sky_radiation, (30.0, 20_000.0), "elevation_m"),
        (solar_from_sunshine, (30.0, 25.0, 12.0), "sunshine_h"),
        (solar_from_sunshine, (30.0, 5.0, -1.0), "daylight_h"),
        (solar_from_sunshine, (300.0, 5.0, 12.0), "radiation"),  # W/m2 for MJ/m2
        (solar_from_temperatures, (20.0, 10.0, 30.0), "tmax_c"),
    ],
)
def test_refuses_what_cannot_be_and_names_it(compute, arguments, field):
    with pytest.raises(InvalidInputError) as refusal:
        compute(*arguments)

    assert refusal.value.field == field


def test_refuses_a_coefficient_of_no_place_on_earth():
    with pytest.raises(InvalidInputError) as refusal:
        solar_from_temperatures(10.0, 20.0, 30.0, coefficient=16.0)

    assert refusal.value.field == "coefficient"


def test_a_fraction_of_a_day_counts_as_its_day():
    assert extraterrestrial_radiation(35.0, 100.7) == extraterrestrial_radiation(35.0, 100)


def test_the_other_modules_names_stay_importable_from_evapotranspiration():
    assert evapotranspiration.extraterrestrial_radiation is extraterrestrial_radiation
    assert evapotranspiration.daylight_h is daylight_h


@given(latitude_deg=st.floats(-90, 90), day=st.integers(1, 366))
@settings(derandomize=True, max_examples=60)
def test_sunlight_is_never_negative_and_the_day_has_24_hours(latitude_deg, day):
    radiation = extraterrestrial_radiation(latitude_deg, day)

    assert 0 <= radiation < 50
    assert 0 <= daylight_h(latitude_deg, day) <= 24
    assert 0 <= clear_sky_radiation(radiation, 0.0) <= radiation
