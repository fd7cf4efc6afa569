"""A stored zone as its plan sees it."""

from __future__ import annotations

import pytest
from django.test import override_settings

from audits.domain.published_uniformity import FIELD_DU_LQ, FIELD_DU_LQ_OVERALL
from audits.models import BucketTest
from properties.domain.errors import RefusedError
from properties.domain.site import Exposure
from scheduling.domain.plants import plant_factors, site_factor
from scheduling.selectors.seasons import zone_season
from scheduling.selectors.zone_facts import estimated_rate_mm_h, limits_of, zone_facts
from scheduling.services.plans import store_plans
from tests import cast
from tests.audits import field_rows

LATITUDE_DEG = 40.4


def facts_of(zone, test=None):
    return zone_facts(zone, test, latitude_deg=LATITUDE_DEG)


def test_a_tested_zone_has_its_measured_rate_and_uniformity(visit, zone):
    facts = facts_of(zone, cast.make_catch_test(visit, zone))

    assert (facts.rate_mm_h, facts.du_lq, facts.cups) == (40.0, 0.75, 12)
    assert (facts.estimated, facts.pooled) == (False, False)
    assert (facts.area_m2, facts.latitude_deg) == (200.0, 40.4)


def test_a_pooled_test_is_marked(visit, zone):
    facts = facts_of(zone, cast.make_catch_test(visit, zone, is_pooled=True, du_lq=None))

    assert (facts.pooled, facts.du_lq, facts.rate_mm_h) == (True, None, 40.0)


# Arithmetic: 10 heads x 7 L/min and 2 x 5 are 80 L/min; on 200 m2 80 x 60 / 200 = 24 mm/h.
def test_an_untested_zone_is_estimated_from_its_heads(zone):
    cast.make_heads(zone)
    cast.make_heads(zone, count=2, rated_flow_l_min=5.0)

    facts = facts_of(zone)

    assert facts.rate_mm_h == pytest.approx(24.0)
    assert (facts.estimated, facts.du_lq, facts.cups, facts.pooled) == (True, None, None, False)


@pytest.mark.parametrize("lack", ["heads", "area"])
def test_a_zone_that_tells_no_rate_is_refused_with_the_cure(controller, lack):
    zone = cast.make_zone(controller, area_m2=None if lack == "area" else 200.0)
    if lack == "area":
        cast.make_heads(zone)

    with pytest.raises(RefusedError, match="Zone 1 Front lawn") as refusal:
        estimated_rate_mm_h(zone)

    assert (refusal.value.code, refusal.value.field) == ("no-rate", "zone")
    assert "catch test" in refusal.value.remedy


@pytest.mark.parametrize(
    ("head_kind", "assumed"),
    [
        ("spray", 0.41), ("rotor", 0.49), ("impact", 0.45), ("rotary_nozzle", 0.45),
        ("hose_end", 0.45), ("drip", 0.81), ("bubbler", 0.81),
    ],
)  # fmt: skip
def test_the_assumed_uniformity_is_the_published_one_of_the_heads(
    visit, controller, head_kind, assumed
):
    zone = cast.make_zone(controller, head_kind=head_kind)

    facts = facts_of(zone, cast.make_catch_test(visit, zone))

    assert facts.assumed_du_lq == assumed
    assert facts.head_kind == head_kind
    assert FIELD_DU_LQ_OVERALL == 0.45
    assert set(FIELD_DU_LQ.values()) == {0.49, 0.41}


def test_what_the_zone_says_overrides_the_tables(visit, controller):
    depths = [150.0 + month for month in range(12)]
    zone = cast.make_zone(
        controller, plant_factor=0.7, quality_factor=0.8, slope_percent=9.0, exposure="",
        microclimate_factor=1.2, root_depths_mm=depths, allowed_depletion=0.4,
        available_mm_m=120.0, intake_mm_h=7.0, accumulation_mm=6.0, min_days_between=2,
        max_days_between=9, soil_texture="clay", plant_type="desert_plants", area_m2=None,
    )  # fmt: skip

    facts = facts_of(zone, cast.make_catch_test(visit, zone))

    assert facts.plant_factors == (0.7,) * 12
    assert facts.root_depths_mm == tuple(depths)
    assert facts.site_factor == 1.2
    assert (facts.quality_factor, facts.slope_percent, facts.allowed_depletion) == (0.8, 9.0, 0.4)
    assert (facts.available_mm_m, facts.intake_mm_h, facts.accumulation_mm) == (120.0, 7.0, 6.0)
    assert (facts.min_days_between, facts.max_days_between) == (2, 9)
    assert (facts.soil_texture, facts.plant_type, facts.area_m2) == ("clay", "desert_plants", None)


@pytest.mark.parametrize("exposure", list(Exposure))
def test_what_the_zone_leaves_open_is_left_to_the_tables(visit, controller, exposure):
    zone = cast.make_zone(controller, exposure=exposure.value)

    facts = facts_of(zone, cast.make_catch_test(visit, zone))

    assert facts.site_factor == site_factor(exposure)
    left_open = ("root_depths_mm", "allowed_depletion", "available_mm_m",
                 "intake_mm_h", "accumulation_mm")  # fmt: skip
    assert {getattr(facts, name) for name in left_open} == {None}
    assert facts.plant_factors == plant_factors(facts.plant_type, LATITUDE_DEG)


def test_the_plants_of_a_bed_are_told_by_months_by_water_use_and_by_density(visit, controller):
    # Arithmetic: moderate water use is 0.4 to 0.6 by the university's table, 0.3 to 0.6 by the
    # other one; planted sparsely, 0.8 of it.
    months = [0.3 + month / 100 for month in range(12)]
    bed = cast.make_zone(controller, number=7, water_use="moderate", density_factor=0.8)
    own = cast.make_zone(controller, number=8, plant_factors=months)

    tests = {each: cast.make_catch_test(visit, each) for each in (bed, own)}

    assert facts_of(bed, tests[bed]).plant_factors == pytest.approx([0.4] * 12)
    assert facts_of(own, tests[own]).plant_factors == tuple(months)
    with override_settings(WATER_USE_TABLE="water_authority"):
        assert facts_of(bed, tests[bed]).plant_factors == pytest.approx([0.36] * 12)


def test_the_controller_limits_step_run_and_starts(garden):
    controller = cast.make_controller(
        garden, minute_step=2, longest_run_min=99, starts_per_program=3
    )

    limits = limits_of(controller)

    assert (limits.minute_step, limits.longest_run_min, limits.max_cycles) == (2, 99, 3)


def test_a_zone_without_controller_is_watered_by_hand(company):
    assert limits_of(None).minute_step == 1.0


# Arithmetic: 2 L/h on 0.3 x 0.5 m are 2 / 0.15 mm/h, also where half of it is wetted: the need is
# that of the planted ground (NRCS and FAO practice of drip design, from memory). No area is needed.
def test_a_drip_grid_is_estimated_without_an_area(controller):
    zone = cast.make_zone(controller, head_kind="drip", area_m2=None)
    cast.make_heads(
        zone, rated_flow_l_min=2 / 60, emitter_spacing_m=0.3, lateral_spacing_m=0.5,
        wetted_part=0.5,
    )  # fmt: skip

    facts = facts_of(zone)

    assert (facts.rate_mm_h, facts.estimated) == (pytest.approx(2 / 0.15), True)


# Arithmetic: 10 L in 40 s are 15 L/min, on 200 m2 4.5 mm/h.
def test_a_hose_is_estimated_by_its_bucket(visit, controller):
    zone = cast.make_zone(controller, head_kind="hose_end")
    BucketTest.objects.create(
        visit=visit, zone=zone, taken_at=cast.NOW, volume_l=10.0, seconds=40.0, flow_l_min=15.0,
        **cast.ROW,
    )  # fmt: skip

    assert estimated_rate_mm_h(zone) == pytest.approx(4.5)


# Arithmetic: twenty emitters, mean 1.75 L/h, low quarter 1; on 0.3 x 0.5 m 1.75 / 0.15 mm/h.
def test_emitters_that_were_caught_tell_rate_and_uniformity(visit, controller):
    zone = cast.make_zone(controller, head_kind="drip")
    cast.make_heads(
        zone, rated_flow_l_min=2 / 60, emitter_spacing_m=0.3, lateral_spacing_m=0.5
    )  # fmt: skip
    assert (facts_of(zone).du_lq, facts_of(zone).assumed_du_lq) == (None, 0.81)

    field_rows.make_emitter_check(visit, zone)

    facts = facts_of(zone)
    assert facts.rate_mm_h == pytest.approx(1.75 / 0.15)
    assert (facts.du_lq, facts.cups) == (pytest.approx(1 / 1.75), 20)
    assert (facts.estimated, facts.pooled) == (True, False)
    tested = facts_of(zone, cast.make_catch_test(visit, zone))
    assert (tested.rate_mm_h, tested.du_lq, tested.estimated) == (40.0, 0.75, False)


# Arithmetic: 16 of 20 emitters drip 2 L/h each and 4 nothing; those that drip are even.
def test_dry_emitters_lengthen_no_run(visit, controller):
    zone = cast.make_zone(controller, head_kind="drip")
    cast.make_heads(zone, rated_flow_l_min=2 / 60, emitter_spacing_m=0.3, lateral_spacing_m=0.5)
    check = field_rows.make_emitter_check(
        visit, zone, dry_emitters=4, mean_flow_l_min=1.6 / 60, emission_uniformity=1 / 5 / 0.8
    )
    check.readings.filter(number__lte=4).update(flow_l_min=0.0, volume_ml=0.0)
    check.readings.filter(number__gt=4).update(flow_l_min=2 / 60)

    facts = facts_of(zone)

    assert facts.rate_mm_h == pytest.approx(2 / 0.15)
    assert (facts.du_lq, facts.cups) == (pytest.approx(1.0), 16)


def test_emitters_of_a_bed_in_a_spray_zone_tell_nothing_of_its_uniformity(visit, zone):
    cast.make_heads(zone)
    field_rows.make_emitter_check(visit, zone)

    assert facts_of(zone).du_lq is None


def test_a_plan_by_caught_emitters_is_lengthened_by_their_unevenness_and_stored(
    visit, garden, controller, station
):
    """Second route: 1 / (0.4 + 0.6 x 4/7) = 1.346 instead of 1 / (0.4 + 0.6 x 0.81) = 1.129."""
    zone = cast.make_zone(controller, head_kind="drip")
    cast.make_heads(zone, rated_flow_l_min=2 / 60, emitter_spacing_m=0.3, lateral_spacing_m=0.5)
    assert _july(zone).multiplier == pytest.approx(1.129, abs=1e-3)
    field_rows.make_emitter_check(visit, zone)

    july = _july(zone)
    stored = store_plans(garden, actor=None, now=cast.NOW)

    assert july.multiplier == pytest.approx(1 / (0.4 + 0.6 * 4 / 7))
    assert july.multiplier_assumed is False
    assert (stored["new_plans"], stored["problems"]) == (1, {})
    assert zone.watering_plans.get().is_estimated


def _july(zone):
    _, _, season = zone_season(zone)
    return season.plan.months[6]


def test_what_told_the_uniformity_is_named(visit, controller):
    zone = cast.make_zone(controller, head_kind="drip")
    cast.make_heads(zone, rated_flow_l_min=2 / 60, emitter_spacing_m=0.3, lateral_spacing_m=0.5)
    told = [facts_of(zone).uniformity_source]
    field_rows.make_emitter_check(visit, zone)
    told.append(facts_of(zone).uniformity_source)
    told.append(facts_of(zone, cast.make_catch_test(visit, zone)).uniformity_source)
    pooled = cast.make_catch_test(visit, zone, is_pooled=True, du_lq=None)
    told.append(facts_of(zone, pooled).uniformity_source)

    assert told == ["published", "emitters", "cups", "pooled_cups"]


def test_the_lives_of_the_plants_come_along(visit, controller):
    zone = cast.make_zone(
        controller, planting_date=cast.TODAY, dormant_from="11-15", dormant_until="03-01"
    )

    life = facts_of(zone, cast.make_catch_test(visit, zone)).life

    assert (life.planting_date, life.overseeded) == (cast.TODAY, None)
    assert (life.dormant.first, life.dormant.last) == ("11-15", "03-01")
