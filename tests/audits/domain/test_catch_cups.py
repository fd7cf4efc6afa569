"""From readings to depths, and the readings that no depth can be made of."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.catch_cups import (
    CupShape,
    depth_mm_from_volume,
    pooled_depth_from_volume_mm,
    ruler_depths_mm,
    same_throat_area_cm2,
)
from properties.domain.errors import InvalidInputError

IN_MM = 25.4
IN2_CM2 = 2.54**2


@pytest.mark.parametrize(
    ("volume_ml", "minutes", "throat_in2"), [(25, 10, 16.6), (40, 6, 12.0), (100, 30, 20.0)]
)
def test_can_10_net_rate_from_volume_time_and_throat(volume_ml, minutes, throat_in2):
    # Irrigation Association, Landscape Irrigation Auditor worksheet "Catch Device Test":
    # in/h = 3.66 V / (t A), the constant being 60 / 16.387.
    depth_in = depth_mm_from_volume(volume_ml, throat_in2 * IN2_CM2) / IN_MM

    assert depth_in * 60 / minutes == pytest.approx(
        60 / 16.387 * volume_ml / (minutes * throat_in2), rel=1e-4
    )


def test_depth_keeps_the_shape_of_the_volumes():
    assert np.ndim(depth_mm_from_volume(50.0, 100.0)) == 0
    assert depth_mm_from_volume(np.ones((2, 3)), 100.0).shape == (2, 3)


@given(st.floats(0, 1000), st.floats(50, 500))
def test_depth_over_the_throat_gives_the_volume_back(volume_ml, throat_cm2):
    # A depth in cm times the area in cm2 is a volume in cm3.
    depth_cm = depth_mm_from_volume(volume_ml, throat_cm2) / 10

    assert depth_cm * throat_cm2 == pytest.approx(volume_ml)


def test_pooled_volume_gives_the_mean_depth_of_a_cup():
    # Arithmetic: 400 mL from four cups of 100 cm2 is 1 cm in each.
    assert pooled_depth_from_volume_mm(400, 4, 100) == pytest.approx(10)


def test_many_cups_may_hold_more_together_than_one_could():
    # Arithmetic: 24 cups x 50 cm2 x 2 cm.
    assert pooled_depth_from_volume_mm(2400, 24, 50) == pytest.approx(20)


def test_refuses_a_volume_without_a_throat_area():
    with pytest.raises(InvalidInputError) as refusal:
        depth_mm_from_volume(50.0, None)

    assert refusal.value.code == "missing"
    assert refusal.value.field == "throat_area_cm2"


@pytest.mark.parametrize(
    ("volume_ml", "throat_cm2"),
    [(-1, 100), (float("nan"), 100), (float("inf"), 100), (50, 0), (50, -3), (4000, 100)],
)
def test_refuses_volumes_and_areas_beyond_belief(volume_ml, throat_cm2):
    with pytest.raises(InvalidInputError) as refusal:
        depth_mm_from_volume(volume_ml, throat_cm2)

    assert refusal.value.code == "out-of-range"
    assert refusal.value.remedy


def test_refuses_a_ruler_in_a_tapered_cup_and_names_the_cure():
    with pytest.raises(InvalidInputError) as refusal:
        ruler_depths_mm([10.0, 12.0], CupShape.TAPERED)

    assert refusal.value.code == "ruler-in-tapered-cup"
    assert refusal.value.remedy == "Measure the volume and give the throat (rim) area."


def test_a_ruler_in_a_bowl_reads_more_than_twice_the_truth():
    # Why tapered cups are refused: a bowl of 15 cm rim and 9 cm base that caught 10 mm. Its
    # radius grows linearly; the water stands where the volumes of rim cylinder and cone agree.
    # (Arithmetic; the bowl is taken to be 6 cm high.)
    height_cm = np.linspace(0, 6, 60_001)
    radius_cm = 4.5 + 3.0 * height_cm / 6
    volume_ml = np.cumsum(np.pi * radius_cm**2) * (height_cm[1] - height_cm[0])
    caught_ml = np.pi * 7.5**2 * 1.0
    read_mm = 10 * height_cm[np.searchsorted(volume_ml, caught_ml)]

    assert read_mm > 20
    assert depth_mm_from_volume(caught_ml, np.pi * 7.5**2) == pytest.approx(10)


def test_a_ruler_in_a_straight_cup_is_taken_as_read():
    assert ruler_depths_mm([10.0, 12.0], CupShape.STRAIGHT_WALLED) == pytest.approx([10, 12])
    assert ruler_depths_mm(7.0, CupShape.STRAIGHT_WALLED) == 7.0


def test_refuses_a_ruler_depth_that_no_cup_holds():
    with pytest.raises(InvalidInputError):
        ruler_depths_mm(301.0, CupShape.STRAIGHT_WALLED)


def test_equal_throats_are_one_area():
    assert same_throat_area_cm2([100.0, 100.5, 100.0]) == pytest.approx(100.17, abs=0.01)


@pytest.mark.parametrize(
    ("areas", "code"), [([100.0, 102.0], "unequal-cups"), ([], "no-cups"), (None, "missing")]
)
def test_refuses_unequal_or_missing_throats(areas, code):
    with pytest.raises(InvalidInputError) as refusal:
        same_throat_area_cm2(areas)

    assert refusal.value.code == code
