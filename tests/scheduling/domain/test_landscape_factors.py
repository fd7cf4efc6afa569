from __future__ import annotations

from dataclasses import replace

import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.site import PlantType, WaterUse
from scheduling.domain.landscape_factors import (
    QUALITY_FACTORS,
    WATER_USE_TABLES,
    AcceptedStress,
    Planting,
    TableName,
    landscape_coefficient,
    planting_factors,
)
from scheduling.domain.plants import annual_plant_factor, plant_factors

UNIVERSITY = WATER_USE_TABLES[TableName.UNIVERSITY]
WATER_AUTHORITY = WATER_USE_TABLES[TableName.WATER_AUTHORITY]
INCH_MM = 25.4


def test_the_university_cuts_the_classes_of_water_use_so():
    # KC-07: Univ. California WUCOLS IV, Categories of Water Needs: percent of ET0.
    assert UNIVERSITY.ranges == {
        WaterUse.HIGH: (0.70, 0.90),
        WaterUse.MODERATE: (0.40, 0.60),
        WaterUse.LOW: (0.10, 0.30),
        WaterUse.VERY_LOW: (0.0, 0.10),
    }
    assert UNIVERSITY.factor(WaterUse.MODERATE) == pytest.approx(0.5)


def test_a_water_authority_cuts_two_of_them_elsewhere():
    # KC-08: waternewsnetwork.com, 19 July 2018: sources disagree, so the table is a choice.
    assert WATER_AUTHORITY.ranges[WaterUse.HIGH] == (0.60, 1.00)
    assert WATER_AUTHORITY.ranges[WaterUse.MODERATE] == (0.30, 0.60)
    assert WATER_AUTHORITY.ranges[WaterUse.LOW] == (0.10, 0.30)
    assert WATER_AUTHORITY.ranges[WaterUse.VERY_LOW] == (0.0, 0.10)
    assert WATER_AUTHORITY.factor(WaterUse.MODERATE) < UNIVERSITY.factor(WaterUse.MODERATE)


def test_the_coefficient_is_the_product_of_its_three_factors():
    # KC-10: kd 1.1 to 1.2 for larger trees, kmc 1.2 to 1.3 where they stand exposed.
    assert landscape_coefficient(0.5, 1.2, 1.3) == pytest.approx(0.78)
    assert landscape_coefficient(0.5) == 0.5


def test_a_moderate_planting_needs_between_the_ends_of_its_class():
    # KC-12: same guide, species factor example: ET0 of 6 in in July, 2.4 to 3.6 in.
    ends_in = [6.0 * landscape_coefficient(end) for end in UNIVERSITY.ranges[WaterUse.MODERATE]]

    assert ends_in == pytest.approx([2.4, 3.6], abs=0.01)


MONTHS = tuple(0.3 + month / 100 for month in range(12))


@pytest.mark.parametrize(
    ("known", "expected"),
    # What is known best goes first: the months, one factor, the class of water use, the plant type.
    [
        ({"months": MONTHS, "factor": 0.8, "water_use": WaterUse.LOW}, MONTHS),
        ({"factor": 0.8, "water_use": WaterUse.LOW}, (0.8,) * 12),
        ({"water_use": WaterUse.LOW}, (0.2,) * 12),
        ({"water_use": WaterUse.MODERATE, "table": WATER_AUTHORITY}, (0.45,) * 12),
        ({}, plant_factors(PlantType.WARM_TURF, -30.0)),
    ],
)
def test_a_planting_needs_by_the_best_that_is_known_of_it_and_by_its_density(known, expected):
    planting = Planting(plant_type=PlantType.WARM_TURF, **known)

    assert planting_factors(planting, -30.0) == pytest.approx(expected)
    dense = replace(planting, density_factor=1.2)
    assert planting_factors(dense, -30.0) == pytest.approx([1.2 * each for each in expected])


def test_a_planting_of_an_impossible_density_is_refused():
    planting = Planting(plant_type=PlantType.WARM_TURF, density_factor=1.4)

    with pytest.raises(InvalidInputError) as refusal:
        planting_factors(planting, 30.0)

    assert refusal.value.field == "density_factor"


@pytest.mark.parametrize(
    ("factors", "field"),
    # KC-11: kd and kmc from memory; 1.4 is the highest microclimate, 1.3 the highest density.
    [
        ((1.2, 1.0, 1.0), "species_factor"),
        ((0.5, 1.4, 1.0), "density_factor"),
        ((0.5, 0.4, 1.0), "density_factor"),
        ((0.5, 1.0, 1.5), "microclimate_factor"),
        ((float("nan"), 1.0, 1.0), "species_factor"),
    ],
)
def test_a_factor_outside_its_range_is_refused_by_name(factors, field):
    with pytest.raises(InvalidInputError) as refusal:
        landscape_coefficient(*factors)

    assert refusal.value.field == field
    assert refusal.value.remedy


def test_accepted_stress_scales_the_need():
    # KC-05: Texas A&M AgriLife ET network. KC-06, arithmetic: 6.0 in x 0.6 x 0.6 = 2.16 in.
    assert list(QUALITY_FACTORS.values()) == [1.0, 0.8, 0.6, 0.5, 0.4]
    need_mm = 6.0 * INCH_MM * annual_plant_factor(PlantType.WARM_TURF)
    assert need_mm / INCH_MM == pytest.approx(3.60, abs=0.01)
    assert need_mm * QUALITY_FACTORS[AcceptedStress.NORMAL] / INCH_MM == pytest.approx(
        2.16, abs=0.01
    )


def test_turf_is_as_in_texas_over_the_year_and_as_in_new_mexico_in_its_season():
    # KC-04: Texas A&M AgriLife ET network, coefficients page: warm season 0.6, cool season 0.8.
    assert annual_plant_factor(PlantType.WARM_TURF) == 0.6
    assert annual_plant_factor(PlantType.COOL_TURF) == 0.8
    # KC-14: NMSU Farmington line-source study: about 0.70 and 0.85 in the active season, and cool
    # turf about 35 % more: plausibility only.
    warm, cool = (
        sum(plant_factors(kind, 36.0)[3:10]) / 7
        for kind in (PlantType.WARM_TURF, PlantType.COOL_TURF)
    )
    assert warm == pytest.approx(0.70, abs=0.05)
    assert cool == pytest.approx(0.85, abs=0.05)
    assert 1.2 < cool / warm < 1.4
