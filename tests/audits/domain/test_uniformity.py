"""Uniformity statistics and multipliers against published figures and their invariants."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.hydraulics import nominal_rate_mm_h
from audits.domain.uniformity import (
    cu,
    du_lh,
    du_lq,
    older_run_time_multiplier,
    run_time_multiplier,
    scheduling_coefficient,
)
from properties.domain.errors import InvalidInputError

IN_MM = 25.4
GPM_L_MIN = 3.785411784
FT2_M2 = 0.3048**2

# Merriam and Keller 1978, Farm Irrigation System Evaluation, Utah State Univ., pp. 41-43; in/h.
MERRIAM_KELLER = [
    0.23, 0.31, 0.24, 0.24, 0.28, 0.31, 0.27, 0.22, 0.26, 0.31, 0.31, 0.25, 0.20, 0.22, 0.32,
]  # fmt: skip

depth_lists = st.lists(st.floats(0.01, 300.0), min_size=4, max_size=40)


def test_can_01_fifteen_catches_of_merriam_and_keller():
    # The readings and the flow are published; the results are our own arithmetic on them.
    rates = np.array(MERRIAM_KELLER)

    assert rates.mean() == pytest.approx(0.2647, abs=0.0005)
    assert cu(rates) == pytest.approx(0.8704, abs=0.0005)
    assert du_lq(rates) == pytest.approx(0.8218, abs=0.0005)


def test_can_01_low_quarter_efficiency_against_the_applied_rate():
    # Same source: one sprinkler of 4.6 gpm on 30 x 50 ft applies 0.295 in/h.
    applied_in_h = nominal_rate_mm_h(4.6 * GPM_L_MIN, 1500 * FT2_M2) / IN_MM
    low_quarter_in_h = du_lq(MERRIAM_KELLER) * np.mean(MERRIAM_KELLER)

    assert low_quarter_in_h == pytest.approx(0.2175, abs=0.0001)
    assert low_quarter_in_h / applied_in_h == pytest.approx(0.736, abs=0.002)


def test_can_04_low_half_and_christiansen_agree_on_a_triangular_pattern():
    # von Bernuth and Mecham, "Defining the Run Time Multiplier", p. 2, Example 1: four sprinklers
    # of triangular profile at 50 % x 70 % of the wetted diameter: CU 0.805, DU_LH 0.810, DU_LQ
    # 0.772. Their cup places are not printed and coarse grids differ by several hundredths; on
    # our fine grid DU_LQ is 0.747, so only the relation of the other two is held to 0.01.
    places = (np.arange(40) + 0.5) / 40
    x, y = np.meshgrid(places * 1.0, places * 1.4)
    corners = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.4), (1.0, 1.4)]
    depths = 10 * sum(np.maximum(0, 1 - np.hypot(x - a, y - b)) for a, b in corners).ravel()

    assert cu(depths) == pytest.approx(du_lh(depths), abs=0.01)
    assert cu(depths) == pytest.approx(0.805, abs=0.015)
    assert du_lh(depths) == pytest.approx(0.810, abs=0.015)
    assert du_lq(depths) == pytest.approx(0.772, abs=0.03)


def test_can_11_low_quarter_is_the_mean_of_the_lowest_quarter_over_the_mean_of_all():
    # Irrigation Association, Landscape Irrigation Auditor worksheet "Catch Device Test"; UC Davis
    # CCUH, L. Oki. Lowest two of eight: (2 + 4) / 2 = 3; mean 7.5.
    assert du_lq([10, 2, 8, 9, 4, 7, 11, 9]) == pytest.approx(3 / 7.5)


@pytest.mark.parametrize(
    ("cups", "low_quarter", "low_half"),
    [(1, 1, 1), (4, 1, 2), (5, 1, 3), (6, 2, 3), (9, 2, 5), (10, 3, 5), (15, 4, 8)],
)
def test_low_parts_round_half_up_and_hold_at_least_one_cup(cups, low_quarter, low_half):
    depths = np.arange(1.0, cups + 1)

    assert du_lq(depths) == pytest.approx((low_quarter + 1) / (cups + 1))
    assert du_lh(depths) == pytest.approx((low_half + 1) / (cups + 1))


@pytest.mark.parametrize(("pair", "expected"), [((8, 12), 0.8), ((8, 12, 6, 14), 0.7)])
def test_can_12_christiansen_adds_deviations_on_either_side_alike(pair, expected):
    # Christiansen 1942, Univ. Calif. Bull. 670: 1 - sum|z - m| / (n m), here about a mean of 10.
    assert cu(pair) == pytest.approx(expected)


def test_can_12_christiansen_may_go_negative():
    # One wet cup of eight: deviations 7 + 7 x 1 about a mean of 1, so 1 - 14 / 8.
    assert cu([8, 0, 0, 0, 0, 0, 0, 0]) == pytest.approx(-0.75)


def test_can_13_run_time_multiplier():
    # Irrigation Association scheduling method, 2005 onward (figures from memory).
    expected = [1.429, 1.370, 1.316, 1.266, 1.220, 1.176, 1.136]
    uniformity = [0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80]

    assert run_time_multiplier(uniformity) == pytest.approx(expected, abs=0.001)


def test_can_14_older_multiplier_asks_for_more():
    # Auditor method before 2005 (figures from memory).
    uniformity = np.array([0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80])
    expected = [2.000, 1.818, 1.667, 1.538, 1.429, 1.333, 1.250]

    assert older_run_time_multiplier(uniformity) == pytest.approx(expected, abs=0.001)
    assert np.all(older_run_time_multiplier(uniformity) > run_time_multiplier(uniformity))


def test_statistics_work_along_the_last_axis_of_any_shape():
    depths = np.random.default_rng(7).uniform(1, 20, (2, 3, 9))

    for statistic in (du_lq, du_lh, cu):
        together = statistic(depths)

        assert together.shape == (2, 3)
        assert together[1, 2] == pytest.approx(statistic(depths[1, 2]))


def test_equal_cups_are_exactly_uniform_in_spite_of_rounding():
    # Unclipped, the mean of 6 x 0.1 mm comes out one rounding step below 0.1 mm.
    assert du_lq([0.1] * 6) == 1


def test_refuses_rows_of_which_one_is_dry():
    with pytest.raises(InvalidInputError) as refusal:
        du_lq([[1.0, 2.0], [0.0, 0.0]])

    assert refusal.value.code == "all-dry"


@pytest.mark.parametrize("value", [-0.1, 1.1, float("nan")])
def test_refuses_a_multiplier_of_an_impossible_uniformity(value):
    with pytest.raises(InvalidInputError):
        run_time_multiplier(value)


def test_refuses_the_older_multiplier_at_zero():
    with pytest.raises(InvalidInputError):
        older_run_time_multiplier(0.0)


@given(depth_lists)
def test_low_quarter_is_at_most_low_half_is_at_most_one(depths):
    assert 0 <= du_lq(depths) <= du_lh(depths) + 1e-12
    assert du_lh(depths) <= 1


@given(depth_lists, st.floats(0.01, 1.0), st.randoms(use_true_random=False))
def test_scaling_and_order_leave_uniformity_unchanged(depths, factor, random):
    shuffled = [depth * factor for depth in depths]
    random.shuffle(shuffled)

    for statistic in (du_lq, du_lh, cu):
        assert statistic(shuffled) == pytest.approx(statistic(depths), abs=1e-9)


def test_can_26_the_scheduling_coefficient_of_a_zone_whose_driest_area_gets_seven_of_twelve():
    # Teaching page of an unnamed agency: mean 12 mm/h, driest 7 mm/h, need 9 mm: 1.7, run 1.3 h.
    rates_mm_h = [7.0, 12.0, 14.0, 15.0]

    coefficient = scheduling_coefficient(rates_mm_h)

    assert coefficient == pytest.approx(1.7, abs=0.05)
    assert 9.0 / 12.0 * coefficient == pytest.approx(1.3, abs=0.05)


def test_a_dry_cup_has_no_end_of_a_scheduling_coefficient():
    assert scheduling_coefficient([0.0, 4.0, 4.0, 4.0]) == np.inf
