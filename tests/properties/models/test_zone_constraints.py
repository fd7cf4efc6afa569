"""Rules of zones and their heads that hold in the database, whoever writes."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError

from properties.models import HeadGroup, Zone
from tests import cast
from tests.properties.models.writes import insert, update


def test_the_longest_gap_is_not_under_the_shortest(zone):
    update(zone, min_days_between=5, max_days_between=5)
    with pytest.raises(IntegrityError, match="zone_days_in_order"):
        update(zone, min_days_between=6)


@pytest.mark.parametrize(
    "wrong",
    [
        {"exposure": "full_sun", "microclimate_factor": 1.1},
        {"exposure": "", "microclimate_factor": None},
    ],
    ids=["both", "neither"],
)
def test_a_zone_has_an_exposure_or_a_microclimate_factor(zone, wrong):
    with pytest.raises(IntegrityError, match="zone_exposure_or_microclimate"):
        update(zone, **wrong)
    update(zone, exposure="", microclimate_factor=1.1)


@pytest.mark.parametrize(
    "twice",
    [
        {"plant_factor": 0.7, "water_use": "low"},
        {"plant_factor": 0.7, "plant_factors": [0.7] * 12},
        {"plant_factors": [0.7] * 12, "water_use": "low"},
    ],
    ids=["factor and use", "factor and months", "months and use"],
)
def test_the_need_of_plants_is_told_once(zone, twice):
    with pytest.raises(IntegrityError, match="zone_plants_told_once"):
        update(zone, **twice)
    for name, value in twice.items():
        update(zone, **{"plant_factor": None, "plant_factors": None, "water_use": "", name: value})


@pytest.mark.parametrize("stretch", ["dormant", "overseeded"])
def test_a_stretch_of_the_year_has_both_ends(zone, stretch):
    with pytest.raises(IntegrityError, match=r"zone_(dormancy|overseeding)_whole"):
        update(zone, **{f"{stretch}_from": "11-15"})
    update(zone, **{f"{stretch}_from": "11-15", f"{stretch}_until": "03-01"})


def _copy_of(zone: Zone, **changes: object) -> dict[str, object]:
    names = ("property", "controller", "number", "name", "head_kind", "plant_type", "soil_texture")
    values = {name: getattr(zone, name) for name in names}
    return {**values, "exposure": "full_sun", **cast.ROW, **changes}


def test_a_zone_number_is_unique_on_its_controller(zone, garden):
    with pytest.raises(IntegrityError):
        insert(Zone, **_copy_of(zone))
    second = cast.make_controller(garden, name="Shed")
    insert(Zone, **_copy_of(zone, controller=second))
    insert(Zone, **_copy_of(zone, number=2))


def test_a_zone_number_without_controller_is_unique_at_its_property(zone, other_garden):
    insert(Zone, **_copy_of(zone, controller=None))
    with pytest.raises(IntegrityError):
        insert(Zone, **_copy_of(zone, controller=None))
    insert(Zone, **_copy_of(zone, controller=None, property=other_garden))


@pytest.mark.parametrize("field", ["position", "tap", "wetted_area_m2"])
def test_position_tap_and_ground_are_of_a_hose(zone, field):
    heads = cast.make_heads(zone)
    value = 50.0 if field == "wetted_area_m2" else "kitchen"

    with pytest.raises(IntegrityError, match="head_group_place_is_of_a_hose"):
        update(heads, **{field: value})
    update(heads, kind="hose_end", **{field: value})


def test_a_position_has_one_group_of_sprinklers_and_no_position_has_many(zone):
    for _ in range(2):
        cast.make_heads(zone, kind="hose_end")
    cast.make_heads(zone, kind="hose_end", position="back lawn")

    with pytest.raises(IntegrityError, match=r"head_group_position_once|zone_id.*position"):
        insert(
            HeadGroup, zone=zone, kind="hose_end", count=1, rated_flow_l_min=7.0,
            position="back lawn", **cast.ROW,
        )  # fmt: skip


@pytest.mark.parametrize("text", ["02-29", "13-01", "W01-1", "1115", "11/15", "1-15"])
def test_a_day_of_the_year_is_month_and_day(zone, text):
    zone.dormant_from, zone.dormant_until = text, "03-01"

    with pytest.raises(ValidationError) as refusal:
        zone.full_clean()

    assert set(refusal.value.message_dict) == {"dormant_from"}
