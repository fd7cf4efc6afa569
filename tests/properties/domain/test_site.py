"""The words of a site are what stands in the database and goes over the wire."""

from __future__ import annotations

import pytest

from properties.domain.site import Exposure, HeadKind, PlantType, SoilTexture


@pytest.mark.parametrize("words", [HeadKind, PlantType, SoilTexture, Exposure])
def test_a_word_is_its_own_value_in_lower_case(words):
    for word in words:
        assert word.value == word.name.lower()
        assert f"{word}" == word.value


def test_soil_textures_run_from_coarse_to_fine():
    """Order of the United States Department of Agriculture's texture classes, coarse to fine."""
    assert [texture.value for texture in SoilTexture] == [
        "sand", "loamy_sand", "sandy_loam", "loam", "clay_loam", "silty_clay", "clay",
    ]  # fmt: skip


def test_exposure_has_the_three_usual_steps():
    assert {exposure.value for exposure in Exposure} == {"full_sun", "part_shade", "full_shade"}


def test_heads_and_plants_are_told_apart():
    assert len(HeadKind) == 7
    assert len(PlantType) == 6
