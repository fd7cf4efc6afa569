from __future__ import annotations

import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.site import Exposure, PlantType
from scheduling.domain.plants import (
    annual_plant_factor,
    default_allowed_depletion,
    default_root_depth_mm,
    plant_factors,
    site_factor,
)

# KC-01, KC-02: UC ANR Center for Landscape and Urban Horticulture, Turfgrass Kc Table 1.
COOL = [0.61, 0.64, 0.75, 1.04, 0.95, 0.88, 0.94, 0.86, 0.74, 0.75, 0.69, 0.60]
WARM = [0.61, 0.54, 0.76, 0.72, 0.79, 0.68, 0.71, 0.71, 0.62, 0.54, 0.58, 0.55]


@pytest.mark.parametrize(
    ("plant_type", "months"), [(PlantType.COOL_TURF, COOL), (PlantType.WARM_TURF, WARM)]
)
def test_turf_factors_are_the_published_months(plant_type, months):
    assert list(plant_factors(plant_type, 36.0)) == months


def test_south_of_the_equator_the_seasons_are_six_months_later():
    south = plant_factors(PlantType.COOL_TURF, -36.0)

    assert south[6] == COOL[0]
    assert south[0] == COOL[6]
    assert sorted(south) == sorted(COOL)


def test_the_annual_factor_is_printed_not_derived():
    # KC-03, arithmetic on the same table: the plain means are 0.788 and 0.651 to three places.
    assert sum(COOL) / 12 == pytest.approx(0.7875)
    assert sum(WARM) / 12 == pytest.approx(0.651, abs=0.0005)
    assert annual_plant_factor(PlantType.COOL_TURF) == 0.80
    assert annual_plant_factor(PlantType.WARM_TURF) == 0.60


@pytest.mark.parametrize(
    ("plant_type", "factor"),
    # KC-13: ANSI/ASABE S623.1 (January 2017), values from memory.
    [
        (PlantType.WOODY_WET_CLIMATE, 0.7),
        (PlantType.WOODY_DRY_CLIMATE, 0.5),
        (PlantType.ANNUAL_FLOWERS, 0.8),
        (PlantType.DESERT_PLANTS, 0.3),
    ],
)
def test_other_plants_keep_one_factor_all_year(plant_type, factor):
    assert plant_factors(plant_type, 36.0) == (factor,) * 12
    assert plant_factors(plant_type, -36.0) == (factor,) * 12
    assert annual_plant_factor(plant_type) == factor


def test_a_fully_shaded_area_uses_half_of_one_in_full_sun():
    # TRADE-03, common practice.
    assert site_factor(Exposure.FULL_SHADE) / site_factor(Exposure.FULL_SUN) == 0.5
    assert site_factor(Exposure.FULL_SHADE) < site_factor(Exposure.PART_SHADE) == 0.75


def test_a_microclimate_factor_is_taken_as_it_is():
    assert site_factor(microclimate=1.2) == 1.2


@pytest.mark.parametrize("given", [{}, {"exposure": Exposure.FULL_SUN, "microclimate": 1.0}])
def test_exposure_and_microclimate_exclude_each_other(given):
    with pytest.raises(InvalidInputError) as refusal:
        site_factor(**given)

    assert refusal.value.code == "exposure-or-microclimate"


def test_an_absurd_microclimate_is_refused():
    with pytest.raises(InvalidInputError) as refusal:
        site_factor(microclimate=3.0)

    assert refusal.value.field == "microclimate"


def test_turf_may_be_dried_out_as_far_as_published():
    # KC-15: FAO-56, Table 22, from memory.
    assert default_allowed_depletion(PlantType.COOL_TURF) == 0.40
    assert default_allowed_depletion(PlantType.WARM_TURF) == 0.50


@pytest.mark.parametrize("plant_type", list(PlantType))
def test_every_plant_has_roots_and_a_limit(plant_type):
    assert 100 <= default_root_depth_mm(plant_type) <= 1000
    assert 0.2 <= default_allowed_depletion(plant_type) <= 0.7
