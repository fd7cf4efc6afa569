"""What the heads of a zone let out, and whether they match."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.heads import (
    HeadGroupFacts,
    found_nozzle_flow_l_min,
    head_rate_mm_h,
    matched_rate_spread,
    zone_nozzle_flow_l_min,
)
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

IN_MM = 25.4
FT_M = 0.3048
GPM_L_MIN = 3.785411784


def spray(gpm, arc_deg, *, count=1, throw_m=15 * FT_M, rated_kpa=200.0):
    return HeadGroupFacts(
        kind=HeadKind.SPRAY,
        count=count,
        rated_flow_l_min=gpm * GPM_L_MIN,
        rated_kpa=rated_kpa,
        arc_deg=arc_deg,
        throw_m=throw_m,
    )


# Teaching slide deck, author agency unknown (HYD-21): 60 x 15 ft with six half heads of 1.0 gpm and
# four quarter heads of 0.5 gpm.
HALVES = spray(1.0, 180, count=6)
QUARTERS = spray(0.5, 90, count=4)


def test_hyd_21_the_heads_of_the_zone_let_out_eight_gpm():
    assert zone_nozzle_flow_l_min([HALVES, QUARTERS]) == pytest.approx(8.0 * GPM_L_MIN)


def test_hyd_21_each_head_waters_at_the_rate_of_the_zone():
    # The deck: 8.0 gpm on 900 ft2 are 0.86 in/h.
    rates_in_h = head_rate_mm_h(np.array([1.0, 0.5]) * GPM_L_MIN, [180, 90], 15 * FT_M) / IN_MM

    assert rates_in_h == pytest.approx([0.86, 0.86], abs=0.01)


def test_the_us_constant_of_a_head_is_34650():
    # Arithmetic: 96.25 x 360.
    rate_in_h = head_rate_mm_h(2 * GPM_L_MIN, 90, 10 * FT_M, 12 * FT_M) / IN_MM

    assert rate_in_h == pytest.approx(34650 * 2 / (90 * 10 * 12))


def test_flow_at_the_pressure_found_follows_the_square_root():
    # Arithmetic: from 200 to 180 kPa, sqrt 0.9.
    flow = zone_nozzle_flow_l_min([HALVES, QUARTERS], 180.0)

    assert flow == pytest.approx(8.0 * GPM_L_MIN * 0.9**0.5)


@pytest.mark.parametrize("kind", [HeadKind.DRIP, HeadKind.BUBBLER])
def test_what_may_compensate_for_the_pressure_flows_as_rated(kind):
    # Arithmetic: 100 x 1 gpm at any pressure, and a spray from 200 to 180 kPa, sqrt 0.9.
    points = replace(spray(1, 90, count=100, rated_kpa=None), kind=kind)

    alone = found_nozzle_flow_l_min([points], 400.0)
    beside = found_nozzle_flow_l_min([points, HALVES], 180.0)

    assert alone == pytest.approx(100 * GPM_L_MIN)
    assert beside == pytest.approx((100 + 6 * 0.9**0.5) * GPM_L_MIN)


def test_found_flow_of_what_throws_needs_a_rated_pressure():
    with pytest.raises(InvalidInputError, match="rated pressure is missing"):
        found_nozzle_flow_l_min([spray(1, 180, rated_kpa=None)], 180.0)


def test_safe_07_full_half_and_quarter_heads_of_four_two_one_are_matched():
    heads = [spray(4, 360), spray(2, 180), spray(1, 90)]

    assert matched_rate_spread(heads) == pytest.approx(0)


def test_safe_07_one_nozzle_in_every_arc_is_not_matched():
    # Arithmetic: a quarter head waters a quarter of the ground with the same flow.
    heads = [spray(1, 360), spray(1, 90)]

    assert matched_rate_spread(heads) == pytest.approx(3.0)


def test_a_longer_throw_needs_flow_by_its_square():
    heads = [spray(1, 180, throw_m=3.0), spray(4, 180, throw_m=6.0)]

    assert matched_rate_spread(heads) == pytest.approx(0)


def test_nozzles_rated_at_several_pressures_are_compared_at_one():
    # Arithmetic: 2 gpm at 400 kPa are 1 gpm at 100 kPa.
    heads = [spray(1, 180, rated_kpa=100.0), spray(2, 180, rated_kpa=400.0)]

    assert matched_rate_spread(heads) == pytest.approx(0)


def test_heads_all_without_a_rated_pressure_are_compared_as_rated():
    heads = [spray(2, 180, rated_kpa=None), spray(1, 90, rated_kpa=None)]

    assert matched_rate_spread(heads) == pytest.approx(0)


def test_refuses_to_compare_where_only_one_rated_pressure_is_known():
    with pytest.raises(InvalidInputError, match="rated pressure is missing"):
        matched_rate_spread([spray(2, 180, rated_kpa=None), spray(1, 90)])


@pytest.mark.parametrize("field", ["arc_deg", "throw_m"])
def test_refuses_to_compare_heads_without_arc_or_throw(field):
    with pytest.raises(InvalidInputError, match="missing") as refusal:
        matched_rate_spread([HALVES, replace(QUARTERS, **{field: None})])

    assert refusal.value.field == field


def test_refuses_flow_at_a_pressure_without_the_rated_one():
    with pytest.raises(InvalidInputError, match="rated pressure is missing"):
        zone_nozzle_flow_l_min([spray(1, 180, rated_kpa=None)], 180.0)


def test_refuses_a_zone_without_heads():
    for refuses in (zone_nozzle_flow_l_min, matched_rate_spread):
        with pytest.raises(InvalidInputError, match="no heads"):
            refuses([])
    with pytest.raises(InvalidInputError, match="no heads"):
        found_nozzle_flow_l_min([], 200.0)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("count", 0), ("count", 1.5), ("rated_flow_l_min", 0), ("rated_kpa", 0), ("arc_deg", 0),
        ("arc_deg", 361), ("throw_m", 0), ("throw_m", float("nan")),
    ],
)  # fmt: skip
def test_refuses_impossible_heads(field, value):
    with pytest.raises(InvalidInputError) as refusal:
        replace(HALVES, **{field: value})

    assert refusal.value.field == field


heads_of_a_zone = st.lists(
    st.builds(
        spray,
        st.floats(0.5, 5),
        st.sampled_from([45, 90, 180, 270, 360]),
        count=st.integers(1, 20),
        throw_m=st.floats(2, 12),
        rated_kpa=st.sampled_from([200.0, 300.0]),
    ),
    min_size=1,
    max_size=5,
)


@given(heads_of_a_zone, st.floats(0.5, 2))
def test_the_spread_does_not_depend_on_the_scale_or_the_count(heads, factor):
    scaled = [
        replace(head, rated_flow_l_min=head.rated_flow_l_min * factor, count=1) for head in heads
    ]

    spread = matched_rate_spread(heads)

    assert spread >= 0
    assert matched_rate_spread(scaled) == pytest.approx(spread, abs=1e-9)
    assert matched_rate_spread(heads[::-1]) == pytest.approx(spread, abs=1e-9)


@given(heads_of_a_zone, st.floats(50, 600))
def test_heads_of_two_lists_let_out_the_sum(heads, kpa):
    whole = zone_nozzle_flow_l_min(heads + heads[:1], kpa)

    parts = zone_nozzle_flow_l_min(heads, kpa) + zone_nozzle_flow_l_min(heads[:1], kpa)
    assert whole == pytest.approx(parts)
