from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.site import PlantType
from scheduling.domain.new_planting import (
    ESTABLISHMENTS,
    establishing_root_depth_mm,
    is_establishing,
)


def test_sod_roots_down_from_its_own_thickness_in_two_months():
    # Common practice. Half way, arithmetic: 50 + (150 - 50) / 2.
    depths = establishing_root_depth_mm(PlantType.COOL_TURF, 150.0, [0, 30, 60, 400])

    assert depths.tolist() == [50.0, 100.0, 150.0, 150.0]


def test_a_planting_to_come_leaves_what_stands_there_now():
    assert establishing_root_depth_mm(PlantType.COOL_TURF, 150.0, -1) == 150.0
    assert not is_establishing(PlantType.COOL_TURF, -1)


def test_roots_never_start_deeper_than_they_end():
    assert establishing_root_depth_mm(PlantType.WOODY_DRY_CLIMATE, 120.0, 0) == 120.0


@pytest.mark.parametrize("plant_type", list(PlantType))
def test_every_kind_of_plant_says_how_it_begins(plant_type):
    last = ESTABLISHMENTS[plant_type].days

    assert is_establishing(plant_type, 0)
    assert is_establishing(plant_type, last - 1)
    assert not is_establishing(plant_type, last)
    assert establishing_root_depth_mm(plant_type, 5000.0, 0) < 5000.0


@given(
    st.sampled_from(PlantType),
    st.floats(10, 5000),
    st.lists(st.integers(0, 800), min_size=2, max_size=20),
)
def test_roots_only_grow(plant_type, full_mm, days):
    depths = establishing_root_depth_mm(plant_type, full_mm, sorted(days))

    assert (np.diff(depths) >= 0).all()
    assert (depths <= full_mm).all()
    assert depths.shape == (len(days),)


def test_an_absurd_depth_is_refused_by_name():
    with pytest.raises(InvalidInputError) as refusal:
        establishing_root_depth_mm(PlantType.COOL_TURF, 0.0, 0)

    assert refusal.value.field == "full_root_depth_mm"
