from __future__ import annotations

import math

import pytest

from properties.domain.errors import InvalidInputError
from properties.domain.site import PlantType, SoilTexture
from scheduling.domain.zone_facts import (
    WateringLimits,
    accumulation_of,
    intake_of,
    plant_factor_of,
    readily_available_of,
    watering_day_limit_of,
)
from tests.scheduling.domain.zones import make_zone


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("rate_mm_h", 0.0),
        ("rate_mm_h", math.nan),
        ("du_lq", 1.2),
        ("latitude_deg", 95.0),
        ("slope_percent", -1.0),
        ("allowed_depletion", 0.0),
        ("min_days_between", 0),
        ("plant_factors", (1.0,) * 11),
        ("root_depths_mm", (0.0,) * 12),
    ],
)
def test_an_impossible_zone_is_refused_and_names_the_field(field, value):
    with pytest.raises(InvalidInputError) as refusal:
        make_zone(**{field: value})

    assert refusal.value.field == field


def test_crossed_days_between_are_refused():
    with pytest.raises(InvalidInputError) as refusal:
        make_zone(min_days_between=5, max_days_between=3)

    assert refusal.value.code == "days-crossed"


@pytest.mark.parametrize(
    ("field", "value"),
    [("minute_step", 0.0), ("max_cycles", 0), ("allowed_weekdays", frozenset({7}))],
)
def test_impossible_rules_are_refused_and_name_the_field(field, value):
    with pytest.raises(InvalidInputError) as refusal:
        WateringLimits(**{field: value})

    assert refusal.value.field == field


def test_what_nobody_measured_comes_from_the_tables():
    zone = make_zone(
        plant_type=PlantType.COOL_TURF,
        soil_texture=SoilTexture.CLAY,
        plant_factors=None,
        available_mm_m=None,
        root_depths_mm=None,
        allowed_depletion=None,
    )

    assert plant_factor_of(zone, 4) == 1.04
    # Middle of 1.60-2.50 in/ft is 2.05 x 83.33 mm/m; 150 mm of roots; 40 % of it.
    assert readily_available_of(zone, 4) == pytest.approx(2.05 * 1000 / 12 * 0.150 * 0.40)
    assert intake_of(zone) == pytest.approx(2.54)
    assert accumulation_of(zone) == pytest.approx(5.08)
    assert watering_day_limit_of(zone) == pytest.approx(15.24)


def test_what_somebody_measured_replaces_the_tables():
    zone = make_zone(intake_mm_h=4.0, accumulation_mm=3.0, watering_day_limit_mm=9.0)

    assert (intake_of(zone), accumulation_of(zone), watering_day_limit_of(zone)) == (4.0, 3.0, 9.0)


def test_roots_follow_the_month():
    zone = make_zone(root_depths_mm=(100.0,) * 6 + (200.0,) * 6)

    assert readily_available_of(zone, 1) == pytest.approx(7.5)
    assert readily_available_of(zone, 7) == pytest.approx(15.0)
