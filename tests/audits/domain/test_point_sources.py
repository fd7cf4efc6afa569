"""Drip by its emitters; hoses by bucket, position and tap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.heads import HeadGroupFacts
from audits.domain.point_sources import (
    bucket_flow_l_min,
    design_emission_uniformity,
    drip_rate_mm_h,
    emission_uniformity,
    minutes_for_depth,
    tandem_flow,
)
from audits.domain.supply_curve import SupplyCurve
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

IN_MM = 25.4
FT_M = 0.3048
GPH_L_MIN = 3.785411784 / 60

SPRINKLER = HeadGroupFacts(
    kind=HeadKind.HOSE_END, count=1, rated_flow_l_min=20.0, rated_kpa=280.0, throw_m=8.0
)
TAPS = {
    "kitchen": SupplyCurve(400.0, 20.0, 280.0),
    # One such sprinkler pulls this one down to 40 kPa: 20 x sqrt(40/280) L/min.
    "garage": SupplyCurve(400.0, 7.56, 40.0),
}


def test_drip_rate_is_the_flow_over_the_ground_of_one_emitter():
    # Arithmetic in US units: 231 in3 / 144 in2 = 1.604; 0.9 gph at 1 ft x 1.5 ft: 0.963 in/h.
    rate_in_h = drip_rate_mm_h(0.9 * GPH_L_MIN, 1 * FT_M, 1.5 * FT_M) / IN_MM

    assert rate_in_h == pytest.approx(231 / 144 * 0.9 / 1.5)


def test_the_wetted_part_gets_all_the_water():
    # Arithmetic: 2 L/h on half of 0.5 m x 0.8 m.
    assert drip_rate_mm_h(2 / 60, 0.5, 0.8) == pytest.approx(5.0)
    assert drip_rate_mm_h(2 / 60, 0.5, 0.8, 0.5) == pytest.approx(10.0)


def test_emission_uniformity_is_the_low_quarter_over_the_mean():
    # Arithmetic: lowest two of eight, 1.5; mean 2.0 L/h.
    flows_l_min = np.array([2.0, 1.4, 2.2, 1.6, 2.3, 2.2, 2.1, 2.2]) / 60

    assert emission_uniformity(flows_l_min) == pytest.approx(0.75)


def test_a_clogged_emitter_counts_as_nothing():
    assert emission_uniformity([0.0, 0.03, 0.03, 0.03]) == 0
    assert emission_uniformity([[0.02] * 8, [0.0, 0.0] + [0.02] * 6]) == pytest.approx([1.0, 0.0])


def test_design_uniformity_takes_variation_and_pressure():
    # ASAE EP405 (from memory): v 0.07, one emitter a plant, orifice, 90 of 100 kPa.
    expected = (1 - 1.27 * 0.07) * 0.9**0.5

    value = design_emission_uniformity(0.07, 1, lowest_kpa=90, mean_kpa=100)

    assert value == pytest.approx(expected)
    assert value == pytest.approx(0.864, abs=0.001)


def test_design_uniformity_is_the_low_quarter_of_many_drawn_emitters():
    # Second route: 200 000 emitters of variation 0.07 at one pressure.
    flows = np.random.default_rng(7).normal(0.03, 0.07 * 0.03, 200_000)

    value = design_emission_uniformity(0.07, 1, lowest_kpa=100, mean_kpa=100)

    assert value == pytest.approx(emission_uniformity(flows), abs=0.002)


def test_emitters_that_share_a_plant_even_out():
    # Arithmetic: four emitters halve the variation.
    four = design_emission_uniformity(0.10, 4, lowest_kpa=100, mean_kpa=100)

    assert four == pytest.approx(1 - 1.27 * 0.05)


def test_a_compensating_emitter_does_not_feel_the_pressure():
    assert design_emission_uniformity(0, 1, lowest_kpa=50, mean_kpa=100, exponent=0) == 1


def test_a_bucket_tells_the_flow():
    # Arithmetic: 10 L in 30 s.
    assert bucket_flow_l_min(10, 30) == pytest.approx(20.0)


def test_point_sources_keep_their_shape():
    ones = np.ones((2, 3))

    assert drip_rate_mm_h(ones, 0.5, 0.5).shape == (2, 3)
    assert emission_uniformity(ones).shape == (2,)
    assert design_emission_uniformity(ones * 0.1, 1, lowest_kpa=9, mean_kpa=9).shape == (2, 3)
    assert bucket_flow_l_min(ones, 30).shape == (2, 3)


@given(st.lists(st.floats(0.001, 0.2), min_size=1, max_size=40), st.floats(0.1, 10))
def test_emission_uniformity_does_not_depend_on_the_scale(flows, factor):
    value = emission_uniformity(flows)

    assert 0 <= value <= 1
    assert emission_uniformity(np.array(flows) * factor) == pytest.approx(value)


@given(st.floats(0.001, 1), st.floats(0.1, 2), st.floats(0.1, 2), st.floats(0.05, 1))
def test_drip_puts_down_its_flow_whatever_part_is_wetted(flow, along, across, part):
    rate = drip_rate_mm_h(flow, along, across, part)

    assert rate * along * across * part / 60 == pytest.approx(flow)


@pytest.mark.parametrize(
    ("flows", "code"),
    [
        ([], "no-emitters"), (0.03, "no-emitters"), ([0.0, 0.0], "all-dry"),
        ([[0.03, 0.03], [0.0, 0.0]], "all-dry"), ([0.03, -0.01], "out-of-range"),
        (None, "missing"),
    ],
)  # fmt: skip
def test_refuses_flows_that_tell_no_uniformity(flows, code):
    with pytest.raises(InvalidInputError) as refusal:
        emission_uniformity(flows)

    assert refusal.value.code == code


def test_refuses_a_lowest_pressure_above_the_mean():
    with pytest.raises(InvalidInputError) as refusal:
        design_emission_uniformity(0.05, 1, lowest_kpa=[90, 110], mean_kpa=100)

    assert refusal.value.code == "lowest-above-mean"


@pytest.mark.parametrize(
    ("call", "arguments"),
    [
        (drip_rate_mm_h, (-1, 0.5, 0.5)), (drip_rate_mm_h, (0.03, 0, 0.5)),
        (drip_rate_mm_h, (0.03, 0.5, 0)), (drip_rate_mm_h, (0.03, 0.5, 0.5, 0)),
        (drip_rate_mm_h, (0.03, 0.5, 0.5, 1.1)), (bucket_flow_l_min, (0, 30)),
        (bucket_flow_l_min, (10, 0)),
    ],
)  # fmt: skip
def test_refuses_impossible_numbers(call, arguments):
    with pytest.raises(InvalidInputError, match="believable"):
        call(*arguments)


def test_trade_05_two_in_tandem_on_a_weak_tap_put_out_about_half_each():
    # Common practice: two portable sprinklers in tandem on one hose put out about half each.
    pair = tandem_flow(replace(SPRINKLER, count=2), "garage", TAPS)

    assert pair.part_of_alone == pytest.approx(0.5, abs=0.05)
    assert pair.alone_l_min == pytest.approx(7.56, rel=1e-3)
    assert pair.working_kpa < 40.0


def test_one_sprinkler_puts_out_what_it_does_alone():
    one = tandem_flow(SPRINKLER, "kitchen", TAPS)

    assert one.flow_l_min == one.alone_l_min == pytest.approx(20.0)
    assert (one.part_of_alone, one.working_kpa) == (1.0, pytest.approx(280.0))


@pytest.mark.parametrize(("tap", "code"), [("", "no-tap"), ("cellar", "unknown-tap")])
def test_a_tap_that_nobody_measured_is_refused_by_name(tap, code):
    with pytest.raises(InvalidInputError) as refusal:
        tandem_flow(SPRINKLER, tap, TAPS)

    assert (refusal.value.code, refusal.value.field) == (code, "tap")


def test_minutes_for_a_depth_give_that_depth():
    # Arithmetic: 20 L/min on 80 m2 are 15 mm/h; 10 mm take 40 min.
    minutes = minutes_for_depth(10.0, 15.0)

    assert minutes == pytest.approx(40.0)
    for depth, rate in ((0.0, 15.0), (301.0, 15.0), (10.0, 0.0), (float("nan"), 15.0)):
        with pytest.raises(InvalidInputError):
            minutes_for_depth(depth, rate)
