"""Nominal rates and nozzle flows against worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.hydraulics import nominal_rate_mm_h, nozzle_flow_l_min
from properties.domain.errors import InvalidInputError

IN_MM = 25.4
GPM_L_MIN = 3.785411784
FT2_M2 = 0.3048**2
PSI_KPA = 6.894757293168


def test_hyd_20_one_sprinkler_on_30_by_50_feet():
    # Merriam and Keller 1978, pp. 41-43: 4.6 gpm applies 0.295 in/h.
    rate_in_h = nominal_rate_mm_h(4.6 * GPM_L_MIN, 30 * 50 * FT2_M2) / IN_MM

    assert rate_in_h == pytest.approx(0.295, abs=0.001)


def test_hyd_20_the_us_constant_is_96_25():
    # Arithmetic: 231 in3 x 60 min / 144 in2.
    assert nominal_rate_mm_h(GPM_L_MIN, FT2_M2) / IN_MM == pytest.approx(231 * 60 / 144)


def test_hyd_21_half_and_quarter_heads_on_60_by_15_feet():
    # Teaching slide deck, author agency unknown: six of 1.0 gpm, four of 0.5 gpm, 0.86 in/h.
    flow_gpm = 6 * 1.0 + 4 * 0.5

    rate_in_h = nominal_rate_mm_h(flow_gpm * GPM_L_MIN, 60 * 15 * FT2_M2) / IN_MM

    assert rate_in_h == pytest.approx(0.86, abs=0.01)


def test_hyd_19_flow_follows_the_square_root_of_pressure():
    # Arithmetic: 40 psi to 30, 36 and 50 psi.
    actual_kpa = np.array([30, 36, 50]) * PSI_KPA

    factors = nozzle_flow_l_min(1.0, 40 * PSI_KPA, actual_kpa)

    assert factors == pytest.approx([0.866, 0.949, 1.118], abs=0.001)


def test_hyd_12_flows_of_a_five_thirty_seconds_nozzle():
    # Extension circular, Table 3, gpm at 35 to 55 psi; rated here at its middle pressure.
    flows_gpm = nozzle_flow_l_min(4.72, 45, [35, 40, 45, 50, 55])

    assert flows_gpm == pytest.approx([4.16, 4.45, 4.72, 4.98, 5.22], rel=0.01)


def test_floats_and_arrays_keep_their_shape():
    assert np.ndim(nominal_rate_mm_h(10.0, 50.0)) == 0
    assert nominal_rate_mm_h(np.ones((2, 3)), 50.0).shape == (2, 3)
    assert nozzle_flow_l_min(np.ones((2, 3)), 200.0, 180.0).shape == (2, 3)


@given(st.floats(0, 20_000), st.floats(0.01, 1e6))
def test_rate_times_area_gives_the_flow_back(flow_l_min, area_m2):
    assert nominal_rate_mm_h(flow_l_min, area_m2) * area_m2 / 60 == pytest.approx(flow_l_min)


@pytest.mark.parametrize(
    ("flow", "area"), [(-1, 10), (1, 0), (1, -5), (float("nan"), 10), (1, float("inf"))]
)
def test_refuses_impossible_flow_or_area(flow, area):
    with pytest.raises(InvalidInputError):
        nominal_rate_mm_h(flow, area)


@pytest.mark.parametrize(("rated", "actual"), [(0, 200), (-10, 200), (200, -1), (200, 9000)])
def test_refuses_impossible_pressures(rated, actual):
    with pytest.raises(InvalidInputError):
        nozzle_flow_l_min(5, rated, actual)
