from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.net_radiation import (
    clear_share,
    net_longwave,
    net_longwave_of_hour,
    net_radiation,
    net_shortwave,
)


@pytest.mark.parametrize(
    ("days", "longwave", "net", "tolerance"),
    [
        # ET-09: FAO-56, Example 18, Uccle; Rso 30.90 from memory.
        ((12.3, 21.5, 1.409, 22.07, 30.90), 3.71, 13.28, 0.02),
        # FAO-56, Examples 11 and 12, Rio de Janeiro in May, from memory.
        ((19.1, 25.1, 2.1, 14.5, 18.8), 3.5, 7.6, 0.06),
    ],
)
def test_net_radiation_is_that_of_the_published_examples(days, longwave, net, tolerance):
    tmin_c, tmax_c, ea_kpa, rs_mj, rso_mj = days

    lost = net_longwave(tmin_c, tmax_c, ea_kpa, clear_share(rs_mj, rso_mj))

    assert lost == pytest.approx(longwave, abs=tolerance)
    assert net_radiation(*days) == pytest.approx(net, abs=tolerance)
    assert net_shortwave(rs_mj) == pytest.approx(0.77 * rs_mj)


def test_the_night_hour_of_the_published_example_loses_heat():
    # FAO-56, Example 19, N'Diaye 02-03 h, from memory: Rnl 0.100 with a share of 0.8.
    assert net_longwave_of_hour(28.0, 3.402, 0.8) == pytest.approx(0.100, abs=0.001)


def test_a_day_of_equal_hours_loses_what_its_hours_lose():
    # Second route: 24 hours of one temperature.
    assert net_longwave(20.0, 20.0, 1.5, 0.7) == pytest.approx(
        24 * net_longwave_of_hour(20.0, 1.5, 0.7)
    )


def test_the_share_of_a_clear_sky_has_its_two_limits():
    # ASCE-EWRI 2005, eq. 18: 0.3 to 1. In the polar night the sky counts as dark, not undefined.
    assert clear_share([1.0, 15.0, 40.0, 0.0], [30.0, 30.0, 30.0, 0.0]).tolist() == [
        0.3, 0.5, 1.0, 0.3,
    ]  # fmt: skip


def test_a_missing_value_stays_missing():
    rn = net_radiation([10.0, np.nan, 10.0, 10.0], 20.0, [1.0, 1.0, np.nan, 1.0],
                       [20.0, 20.0, 20.0, np.nan], 30.0)  # fmt: skip

    assert np.isnan(rn).tolist() == [False, True, True, True]


@pytest.mark.parametrize(
    ("days", "field"),
    [
        ((10.0, 20.0, 1500.0, 20.0, 30.0), "ea_kpa"),  # Pa for kPa
        ((10.0, 20.0, -0.1, 20.0, 30.0), "ea_kpa"),
        ((10.0, 20.0, 1.0, 250.0, 30.0), "rs_mj"),  # W/m2 for MJ/m2
        ((10.0, 20.0, 1.0, 20.0, -3.0), "rso_mj"),
        ((20.0, 10.0, 1.0, 20.0, 30.0), "tmax_c"),
    ],
)
def test_refuses_what_cannot_be_and_names_it(days, field):
    with pytest.raises(InvalidInputError) as refusal:
        net_radiation(*days)

    assert refusal.value.field == field


@given(
    tmin_c=st.floats(-40, 35),
    span_c=st.floats(0, 25),
    ea_kpa=st.floats(0, 8),
    rs_mj=st.floats(0, 35),
    more_mj=st.floats(0, 5),
)
@settings(derandomize=True, max_examples=60)
def test_damp_air_keeps_warmth_and_the_ground_never_gains_by_longwave(
    tmin_c, span_c, ea_kpa, rs_mj, more_mj
):
    share = clear_share(rs_mj, 30.0)
    lost = net_longwave(tmin_c, tmin_c + span_c, ea_kpa, share)

    assert 0 <= lost <= net_longwave(tmin_c, tmin_c + span_c, 0.0, share)
    assert net_shortwave(rs_mj + more_mj) >= net_shortwave(rs_mj)
