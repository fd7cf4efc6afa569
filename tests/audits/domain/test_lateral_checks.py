"""A lateral as a whole, by the formulas in US units."""

from __future__ import annotations

import pytest

from audits.domain.lateral_checks import check_lateral

# 8 heads, 16 gpm at the inlet of 100 ft of pipe of 1.049 in inside; 30 psi wanted.
GPM, INCH, PSI, FOOT = 3.785411784, 25.4, 6.894757293168, 0.3048
LATERAL = {
    "flow_l_min": 16 * GPM, "inside_diameter_mm": 1.049 * INCH, "length_m": 100 * FOOT,
    "outlets": 8, "design_kpa": 30 * PSI,
}  # fmt: skip


# Hazen-Williams, Christiansen 1942 and 0.4085 gpm / in2, in US units.
def test_a_lateral_loses_what_the_us_formulas_say():
    check = check_lateral(**LATERAL)

    psi_per_100ft = 0.2083 * (100 / 150 * 16) ** 1.852 / 1.049**4.8655 * 0.433
    factor = 1 / 2.852 + 1 / 16 + 0.852**0.5 / (6 * 64)
    assert check.loss_kpa == pytest.approx(psi_per_100ft * factor * PSI)
    assert check.friction_kpa_per_100m == pytest.approx(psi_per_100ft * PSI / FOOT)
    assert check.velocity_m_s == pytest.approx(0.4085 * 16 / 1.049**2 * FOOT, rel=1e-3)
    assert check.is_spread_ok is True
    assert [advice.code for advice in check.advice] == ["pipe-too-fast"]


def test_a_narrow_pipe_is_told_to_lose_too_much_and_to_run_too_fast():
    check = check_lateral(**{**LATERAL, "inside_diameter_mm": 0.622 * INCH})

    assert check.is_spread_ok is False
    assert [advice.code for advice in check.advice] == ["lateral-loss-too-large", "pipe-too-fast"]
    assert all(advice.sentence and advice.source for advice in check.advice)


def test_a_loss_beyond_any_supply_is_told_and_not_refused():
    check = check_lateral(**{**LATERAL, "inside_diameter_mm": 2.0, "length_m": 900.0})

    assert check.loss_kpa > 2500
    assert check.is_spread_ok is False


def test_still_water_loses_nothing():
    check = check_lateral(**{**LATERAL, "flow_l_min": 0.0})

    assert (check.loss_kpa, check.velocity_m_s, check.is_spread_ok, check.advice) == (
        0, 0, True, (),
    )  # fmt: skip
