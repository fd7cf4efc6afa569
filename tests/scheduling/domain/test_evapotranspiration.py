from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.evapotranspiration import (
    extraterrestrial_radiation,
    hargreaves,
)

LYON_DEG = 45 + 43 / 60


def test_hargreaves_of_lyon_in_july_by_a_second_route():
    # ET-11: FAO-56, Example 15 prints Rs = 0.16 sqrt(Tmax - Tmin) Ra = 22.29 MJ, so sqrt x Ra is
    # known without our own radiation; eq. 52 then gives 5.03 mm/d.
    root_times_ra = 22.29 / 0.16
    expected = 0.0023 * ((26.6 + 14.8) / 2 + 17.8) * root_times_ra / 2.45

    et0 = hargreaves(14.8, 26.6, extraterrestrial_radiation(LYON_DEG, 196))

    assert et0 == pytest.approx(expected, abs=0.01)


# ET-21: Texas A&M AgriLife ET network, monthly averages for Houston [in], from memory; the normal
# temperatures [degF] are from memory too. Plausibility only.
HOUSTON_IN = [2.36, 2.83, 4.32, 5.01, 6.11, 6.57, 6.52, 6.08, 5.57, 4.28, 2.90, 2.35]
HOUSTON_LOW_F = [43.2, 46.5, 52.5, 59.4, 67.6, 73.3, 75.1, 74.8, 69.8, 60.9, 52.1, 44.6]
HOUSTON_HIGH_F = [62.9, 66.3, 73.0, 79.6, 86.3, 91.4, 93.7, 94.5, 89.7, 82.0, 72.5, 64.3]
MID_MONTH = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])
MONTH_DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def test_houston_is_within_fifteen_percent_of_its_network_in_every_month():
    low_c, high_c = ((np.array(t) - 32) / 1.8 for t in (HOUSTON_LOW_F, HOUSTON_HIGH_F))

    daily_mm = hargreaves(low_c, high_c, extraterrestrial_radiation(29.98, MID_MONTH))

    monthly_in = daily_mm * MONTH_DAYS / 25.4
    assert monthly_in == pytest.approx(np.array(HOUSTON_IN), rel=0.15)
    assert monthly_in.sum() == pytest.approx(54.9, rel=0.05)


def test_hargreaves_refuses_crossed_temperatures_and_names_the_highest():
    with pytest.raises(InvalidInputError) as refusal:
        hargreaves([10.0, 20.0], [20.0, 19.9], 30.0)

    assert refusal.value.field == "tmax_c"
    assert refusal.value.code == "tmax-below-tmin"


def test_hargreaves_refuses_a_sentinel_for_missing():
    with pytest.raises(InvalidInputError) as refusal:
        hargreaves(-9999.0, 20.0, 30.0)

    assert refusal.value.field == "tmin_c"


def test_a_missing_temperature_costs_its_own_day_only():
    et0 = hargreaves([10.0, np.nan], [20.0, 20.0], 30.0)

    assert np.isnan(et0).tolist() == [False, True]


def test_arrays_broadcast_and_keep_their_shape():
    radiation = extraterrestrial_radiation(np.array([[10.0], [40.0]]), np.array([1, 100, 200]))

    assert radiation.shape == (2, 3)
    assert radiation[1, 2] == extraterrestrial_radiation(40.0, 200)
    assert hargreaves(10.0, np.full((2, 3), 25.0), radiation).shape == (2, 3)


@given(
    latitude_deg=st.floats(-90, 90),
    day=st.integers(1, 366),
    tmin_c=st.floats(-60, 40),
    span_c=st.floats(0, 20),
)
@settings(derandomize=True, max_examples=60)
def test_need_is_never_negative(latitude_deg, day, tmin_c, span_c):
    radiation = extraterrestrial_radiation(latitude_deg, day)

    assert 0 <= hargreaves(tmin_c, tmin_c + span_c, radiation) < 25
