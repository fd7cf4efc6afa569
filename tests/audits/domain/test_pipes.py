"""Friction, outlets and speeds against a state's pipe table and exact sums."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.pipes import (
    friction_loss_kpa_per_100m,
    lateral_loss_kpa,
    multiple_outlet_factor,
    pressure_spread_ok,
    velocity_advice,
    velocity_m_s,
)
from properties.domain.errors import InvalidInputError

IN_MM = 25.4
FT_M = 0.3048
GPM_L_MIN = 3.785411784
PSI_KPA = 6.894757293168
# What 1 ft of water weighs, as the trade rounds it.
FT_KPA = 0.433 * PSI_KPA

# 77 Ill. Adm. Code 906, Appendix A, Exhibit I (Schedule 40 pipe, C 150): inside diameter in inches,
# gpm, ft per 100 ft, relative tolerance.
PIPE_TABLE = [
    (
        "HYD-01",
        1.049,
        range(1, 11),
        [0.07, 0.28, 0.60, 1.01, 1.52, 2.14, 2.89, 3.63, 4.57, 5.50],
        0.02,
    ),
    ("HYD-03", 1.610, [10, 15, 20, 25, 30], [0.70, 1.45, 2.46, 3.75, 5.22], 0.02),
    ("HYD-05", 3.068, [30, 40, 50, 60, 100], [0.23, 0.39, 0.58, 0.81, 2.09], 0.03),
]

flows = st.floats(0.1, 1000)
diameters = st.floats(10, 200)


@pytest.mark.parametrize(("check", "inside_in", "gpm", "ft_per_100_ft", "tolerance"), PIPE_TABLE)
def test_friction_matches_the_printed_table(check, inside_in, gpm, ft_per_100_ft, tolerance):
    flow_l_min = np.array(gpm) * GPM_L_MIN

    loss_kpa_per_100m = friction_loss_kpa_per_100m(flow_l_min, inside_in * IN_MM)

    # Head over length has no unit: kPa per 100 m over kPa per m is ft per 100 ft.
    head = loss_kpa_per_100m / (FT_KPA / FT_M)
    assert head == pytest.approx(ft_per_100_ft, rel=tolerance, abs=0.02), check


def test_hyd_07_ten_gpm_in_a_pipe_of_one_inch():
    # Arithmetic on the table of HYD-01: 5.54 ft, 2.40 psi per 100 ft; 0.4085 gpm / in2 = 3.71 ft/s.
    loss = friction_loss_kpa_per_100m(10 * GPM_L_MIN, 1.049 * IN_MM)
    speed = velocity_m_s(10 * GPM_L_MIN, 1.049 * IN_MM)

    assert loss / PSI_KPA * FT_M == pytest.approx(2.40, rel=0.005)
    assert speed / FT_M == pytest.approx(3.71, rel=0.002)


def test_hyd_08_the_factor_of_many_outlets():
    # Christiansen 1942 (from memory).
    factors = multiple_outlet_factor([1, 2, 3, 4, 5, 10, 20, 50])

    printed = [1.00, 0.639, 0.534, 0.485, 0.457, 0.402, 0.376, 0.361]
    assert factors == pytest.approx(printed, abs=0.001)


@pytest.mark.parametrize("exponent", [1.75, 1.852, 2.0])
@pytest.mark.parametrize("outlets", [1, 2, 3, 4, 5, 10, 20, 50])
def test_hyd_08_the_factor_is_the_sum_over_the_stretches(outlets, exponent):
    # Second route: in stretch i of n the flow is i/n of the whole.
    exact = sum((i / outlets) ** exponent for i in range(1, outlets + 1)) / outlets

    assert multiple_outlet_factor(outlets, exponent) == pytest.approx(exact, abs=0.005)


def test_hyd_10_a_lateral_of_ten_heads():
    # Arithmetic: 10 x 2 gpm, 150 ft of 1 1/4 in; 3.42 psi x 0.402 = 1.38 psi of 30 psi.
    through = lateral_loss_kpa(20 * GPM_L_MIN, 1.380 * IN_MM, 150 * FT_M, 1)
    shared = lateral_loss_kpa(20 * GPM_L_MIN, 1.380 * IN_MM, 150 * FT_M, 10)

    assert through / PSI_KPA == pytest.approx(3.42, rel=0.005)
    assert shared / PSI_KPA == pytest.approx(1.38, rel=0.005)
    assert pressure_spread_ok(shared, 30 * PSI_KPA)


def test_a_lateral_loses_what_its_stretches_lose():
    # Second route: four heads of 10 L/min, 5 m apart, stretch by stretch.
    stretches = friction_loss_kpa_per_100m([40, 30, 20, 10], 20, 130) * 5 / 100

    assert lateral_loss_kpa(40, 20, 20, 4, c=130) == pytest.approx(stretches.sum(), rel=0.005)


def test_hyd_11_a_fifth_of_the_pressure_is_the_limit_and_a_tenth_of_the_flow():
    # NRCS sprinkler practice (from memory).
    assert pressure_spread_ok([0.0, 40.0, 40.1], 200.0).tolist() == [True, True, False]
    assert pressure_spread_ok(6 * PSI_KPA, 30 * PSI_KPA)
    assert 1 - np.sqrt(1 - 0.20) == pytest.approx(0.10, abs=0.01)


def test_rougher_pipe_loses_more_by_the_law():
    # Arithmetic: (150/100)^1.852.
    ratio = friction_loss_kpa_per_100m(30, 25, 100) / friction_loss_kpa_per_100m(30, 25)

    assert ratio == pytest.approx(1.5**1.852)


def test_hyd_06_half_the_diameter_loses_by_the_law():
    # Arithmetic: 2^4.8655.
    ratio = friction_loss_kpa_per_100m(30, 20) / friction_loss_kpa_per_100m(30, 40)

    assert ratio == pytest.approx(2**4.8655)


def test_says_so_when_the_water_runs_too_fast():
    # Arithmetic: 1.5 m/s in 20 mm carry 28.3 L/min.
    fast = velocity_advice(28.4, 20)

    assert velocity_advice(28.2, 20) is None
    assert fast.code == "pipe-too-fast"
    assert "1.5 m/s" in fast.sentence


def test_pipes_keep_the_shape_of_their_flows():
    flow = np.ones((2, 3))

    assert friction_loss_kpa_per_100m(flow, 25.0).shape == (2, 3)
    assert velocity_m_s(flow, 25.0).shape == (2, 3)
    assert multiple_outlet_factor(flow).shape == (2, 3)
    assert lateral_loss_kpa(flow, 25.0, 10.0, 4).shape == (2, 3)
    assert np.ndim(friction_loss_kpa_per_100m(10.0, 25.0)) == 0


@given(flows, diameters, st.floats(1.01, 3))
def test_more_flow_loses_more_and_wider_pipe_less(flow, diameter, factor):
    loss = friction_loss_kpa_per_100m(flow, diameter)

    assert friction_loss_kpa_per_100m(flow * factor, diameter) > loss
    assert friction_loss_kpa_per_100m(flow, diameter * factor) < loss


@given(st.integers(1, 9999))
def test_the_factor_falls_from_one_to_its_limit(outlets):
    factor = multiple_outlet_factor(outlets)

    assert 1 / 2.852 < multiple_outlet_factor(outlets + 1) < factor <= 1


@given(flows, diameters, st.floats(0.2, 4))
def test_the_speed_is_the_flow_over_the_section(flow, diameter, scale):
    speed = velocity_m_s(flow, diameter)

    assert velocity_m_s(flow * scale**2, diameter * scale) == pytest.approx(speed)


@pytest.mark.parametrize(
    ("flow", "diameter", "c"),
    [(-1, 25, 150), (10, 0, 150), (10, 25, 50), (10, 25, 170), (None, 25, 150)],
)
def test_refuses_impossible_pipes(flow, diameter, c):
    with pytest.raises(InvalidInputError):
        friction_loss_kpa_per_100m(flow, diameter, c)


def test_refuses_outlets_that_are_none_or_not_whole():
    with pytest.raises(InvalidInputError, match="not whole"):
        multiple_outlet_factor([2, 2.5])
    with pytest.raises(InvalidInputError, match="number of outlets"):
        multiple_outlet_factor(0)


def test_refuses_an_exponent_of_no_friction_law():
    with pytest.raises(InvalidInputError, match="exponent"):
        multiple_outlet_factor(4, 1.0)


@pytest.mark.parametrize(("spread", "design"), [(-1, 200), (10, 0), (float("nan"), 200)])
def test_refuses_an_impossible_spread(spread, design):
    with pytest.raises(InvalidInputError):
        pressure_spread_ok(spread, design)


def test_refuses_a_negative_length():
    with pytest.raises(InvalidInputError, match="length of pipe"):
        lateral_loss_kpa(40, 20, -1, 4)
