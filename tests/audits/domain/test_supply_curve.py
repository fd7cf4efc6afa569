"""More heads on one supply: less from each, more from all (TRADE-05)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.heads import HeadGroupFacts, zone_nozzle_flow_l_min
from audits.domain.pipes import friction_loss_kpa_per_100m
from audits.domain.supply_curve import (
    SupplyCurve,
    flow_per_head_l_min,
    heads_on_supply,
    is_below_working,
    working_pressure_kpa,
)
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

SPRINKLER = {"rated_flow_l_min": 20.0, "rated_kpa": 280.0}
# A tap that one such sprinkler pulls down from 400 to 40 kPa, at which it lets out 7.56 L/min
# (20 x sqrt(40/280)), and a tap that hardly falls.
WEAK = SupplyCurve(static_kpa=400.0, measured_flow_l_min=7.56, measured_running_kpa=40.0)
STRONG = SupplyCurve(static_kpa=400.0, measured_flow_l_min=20.0, measured_running_kpa=398.0)


def settled_flow_l_min(heads, *, static_kpa, lost_kpa):
    """Second route: bisect the flow of one head until nozzle and supply agree."""
    low, high = 0.0, 100.0
    for _ in range(100):
        flow = (low + high) / 2
        needed_kpa = SPRINKLER["rated_kpa"] * (flow / SPRINKLER["rated_flow_l_min"]) ** 2
        low, high = (
            (flow, high) if needed_kpa + lost_kpa(heads * flow) < static_kpa else (low, flow)
        )
    return flow


def test_trade_05_two_sprinklers_on_a_weak_tap_let_out_about_half_each():
    # Common practice: two portable sprinklers in tandem on one hose put out about half each.
    one, two = flow_per_head_l_min([1, 2], WEAK, **SPRINKLER)

    assert two / one == pytest.approx(0.5, abs=0.05)


def test_trade_05_a_strong_tap_hardly_feels_the_second_sprinkler():
    one, two = flow_per_head_l_min([1, 2], STRONG, **SPRINKLER)

    assert 0.98 < two / one < 1


def test_trade_05_two_on_a_long_thin_hose_let_out_little_more_than_half_each():
    # Second route: 60 m of hose of 12.7 mm by Hazen-Williams, solved by bisection.
    def hose_kpa(flow):
        return float(friction_loss_kpa_per_100m(flow, 12.7, 140)) * 0.6

    alone = settled_flow_l_min(1, static_kpa=400.0, lost_kpa=hose_kpa)
    supply = SupplyCurve(400.0, alone, 400.0 - hose_kpa(alone))

    one, two = flow_per_head_l_min([1, 2], supply, **SPRINKLER)

    assert one == pytest.approx(alone)
    paired = settled_flow_l_min(2, static_kpa=400.0, lost_kpa=hose_kpa)
    assert two == pytest.approx(paired, rel=0.05)
    assert two / one == pytest.approx(0.55, abs=0.05)


@pytest.mark.parametrize("supply", [WEAK, STRONG])
@pytest.mark.parametrize("heads", [1, 2, 7])
def test_closed_form_agrees_with_bisection(supply, heads):
    # Second route; the loss goes with the square of the flow through the measured point.
    drop_kpa = supply.static_kpa - supply.measured_running_kpa

    settled = settled_flow_l_min(
        heads,
        static_kpa=400.0,
        lost_kpa=lambda flow: drop_kpa * (flow / supply.measured_flow_l_min) ** 2,
    )

    assert flow_per_head_l_min(heads, supply, **SPRINKLER) == pytest.approx(settled)


def test_a_supply_gives_back_the_point_that_it_was_measured_at():
    supply = SupplyCurve(400.0, 20.0, 280.0)

    assert flow_per_head_l_min(1, supply, **SPRINKLER) == pytest.approx(20.0)
    assert supply.loss_coefficient == pytest.approx(120 / 400)


def test_mixed_heads_settle_at_one_pressure():
    # Arithmetic: 10 L/min at 200 kPa and twice 5 L/min at 200 kPa are the measured 20 L/min.
    groups = [
        HeadGroupFacts(kind=HeadKind.SPRAY, count=1, rated_flow_l_min=10, rated_kpa=200),
        HeadGroupFacts(kind=HeadKind.SPRAY, count=2, rated_flow_l_min=5, rated_kpa=200),
    ]
    supply = SupplyCurve(350.0, 20.0, 200.0)

    assert working_pressure_kpa(groups, supply) == pytest.approx(200.0)
    assert working_pressure_kpa(groups * 2, supply) < 200.0


def test_heads_keep_their_shape():
    assert flow_per_head_l_min(np.ones((2, 3)), WEAK, **SPRINKLER).shape == (2, 3)
    assert np.ndim(flow_per_head_l_min(2, WEAK, **SPRINKLER)) == 0


supplies = st.builds(
    lambda static, share, flow: SupplyCurve(static, flow, static * share),
    st.floats(100, 900),
    st.floats(0.01, 0.99),
    st.floats(1, 100),
)


@given(supplies, st.integers(1, 50), st.floats(1, 30))
def test_more_heads_let_out_less_each_and_more_together(supply, heads, rated_l_min):
    fewer, more = flow_per_head_l_min(
        [heads, heads + 1], supply, rated_flow_l_min=rated_l_min, rated_kpa=250.0
    )

    assert more < fewer
    assert (heads + 1) * more > heads * fewer
    assert more / fewer > heads / (heads + 1)


@given(supplies, st.integers(1, 50), st.floats(1, 30))
def test_supply_and_nozzles_agree_at_the_working_pressure(supply, count, rated_l_min):
    group = HeadGroupFacts(
        kind=HeadKind.ROTOR, count=count, rated_flow_l_min=rated_l_min, rated_kpa=250.0
    )

    working_kpa = working_pressure_kpa([group], supply)

    flow = zone_nozzle_flow_l_min([group], working_kpa)
    assert supply.static_kpa - supply.loss_coefficient * flow**2 == pytest.approx(working_kpa)


@pytest.mark.parametrize(
    ("static", "flow", "running", "code"),
    [
        (400, 20, 401, "running-above-static"), (400, 0, 300, "out-of-range"),
        (0, 20, 0, "out-of-range"), (400, 20, -1, "out-of-range"),
    ],
)  # fmt: skip
def test_refuses_impossible_supplies(static, flow, running, code):
    with pytest.raises(InvalidInputError) as refusal:
        SupplyCurve(static, flow, running)

    assert refusal.value.code == code


@pytest.mark.parametrize("heads", [0, -1, float("nan")])
def test_refuses_no_heads(heads):
    with pytest.raises(InvalidInputError, match="number of heads"):
        flow_per_head_l_min(heads, WEAK, **SPRINKLER)


GROUP = HeadGroupFacts(kind=HeadKind.SPRAY, count=2, rated_flow_l_min=20.0, rated_kpa=280.0)


@pytest.mark.parametrize("supply", [WEAK, STRONG])
def test_more_heads_are_told_as_the_flow_of_each_one_by_one(supply):
    rows = heads_on_supply([1, 2, 3, 8], [GROUP], supply)

    each = flow_per_head_l_min([1, 2, 3, 8], supply, **SPRINKLER)
    assert [row.flow_per_head_l_min for row in rows] == pytest.approx(list(each))
    assert [row.flow_l_min for row in rows] == pytest.approx([1, 2, 3, 8] * each)
    assert [row.part_of_now for row in rows] == pytest.approx(list(each / each[1]))
    for row in rows:
        assert row.flow_per_head_l_min == pytest.approx(GROUP.flow_l_min(row.working_kpa))


def test_heads_that_differ_count_as_their_mean_and_those_now_as_they_are():
    other = HeadGroupFacts(kind=HeadKind.SPRAY, count=3, rated_flow_l_min=8.0, rated_kpa=200.0)

    (now,) = heads_on_supply([5], [GROUP, other], WEAK)

    assert now.working_kpa == pytest.approx(working_pressure_kpa([GROUP, other], WEAK))
    assert now.flow_l_min == pytest.approx(zone_nozzle_flow_l_min([GROUP, other], now.working_kpa))
    assert now.part_of_now == 1.0


@pytest.mark.parametrize("counts", [[0], [2.5], [2001]])
def test_refuses_counts_of_heads_that_cannot_be(counts):
    with pytest.raises(InvalidInputError, match="number of heads"):
        heads_on_supply(counts, [GROUP], WEAK)


def test_refuses_more_of_no_heads():
    with pytest.raises(InvalidInputError, match="no heads"):
        heads_on_supply([1], [], WEAK)


# USDA NRCS sprinkler practice (from memory): heads work alike within a fifth of their pressure.
@pytest.mark.parametrize(("kpa", "is_below"), [(54.0, True), (223.9, True), (224.0, False)])
def test_under_four_fifths_of_its_pressure_a_head_fails(kpa, is_below):
    assert is_below_working(kpa, 280.0) is is_below


@pytest.mark.parametrize(("kpa", "rated"), [(-1.0, 280.0), (200.0, 0.0), (float("nan"), 280.0)])
def test_refuses_a_working_pressure_that_cannot_be(kpa, rated):
    with pytest.raises(InvalidInputError):
        is_below_working(kpa, rated)
