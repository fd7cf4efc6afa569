from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.rain import (
    daily_effective_rain_mm,
    effective_rain_mm,
    monthly_effective_rain_mm,
    monthly_effective_rain_scs_mm,
    rain_for_effective_mm,
    rain_skip_days,
)

events_mm = st.floats(0, 200)


@pytest.mark.parametrize(
    ("event_in", "effective_in"),
    # BUD-12a: rule of the Texas A&M AgriLife ET network, effective rainfall page; arithmetic.
    [(0.0, 0.0), (0.1, 0.0), (0.25, 0.15), (1.0, 0.9), (1.5, 1.2333), (2.0, 1.5667), (5.0, 1.5667)],
)
def test_effective_rain_follows_the_event_rule(event_in, effective_in):
    assert effective_rain_mm(event_in * 25.4) / 25.4 == pytest.approx(effective_in, abs=1e-4)


def test_effective_rain_takes_arrays_and_passes_missing_days_on():
    rain = effective_rain_mm(np.array([[2.54, 12.7], [np.nan, 0.0]]))

    np.testing.assert_allclose(rain, [[0.0, 10.16], [np.nan, 0.0]])


def test_negative_rain_is_refused():
    with pytest.raises(InvalidInputError) as refusal:
        effective_rain_mm([1.0, -1.0])

    assert refusal.value.field == "event_mm"


@given(events_mm, events_mm)
def test_more_rain_never_adds_less_and_never_more_than_fell(one, other):
    low, high = sorted((one, other))

    assert effective_rain_mm(low) <= effective_rain_mm(high) <= high


@given(st.floats(0.01, 39.7))
def test_the_rain_for_an_effect_has_that_effect(effective_mm):
    assert effective_rain_mm(rain_for_effective_mm(effective_mm)) == pytest.approx(effective_mm)


def test_no_rain_is_asked_for_nothing_and_never_more_than_counts():
    assert rain_for_effective_mm(0.0) == 0.0
    assert rain_for_effective_mm(100.0) == pytest.approx(2 * 25.4)


@pytest.mark.parametrize(
    ("effective_mm", "store_mm", "days"),
    [(12.0, 20.0, 3), (11.9, 20.0, 2), (40.0, 20.0, 5), (3.0, 20.0, 0)],  # need 4 mm; arithmetic
)
def test_rain_covers_whole_days_up_to_what_the_store_holds(effective_mm, store_mm, days):
    assert rain_skip_days(effective_mm, 4.0, store_mm=store_mm) == days


def test_three_tenths_cover_three_days_of_a_tenth():
    assert rain_skip_days(0.3, 0.1, store_mm=20.0) == 3  # 0.3 / 0.1 is 2.9999999999999996


def test_a_zone_without_need_has_no_days_to_skip():
    with pytest.raises(InvalidInputError) as refusal:
        rain_skip_days(10.0, 0.0, store_mm=20.0)

    assert refusal.value.field == "need_mm_day"


@pytest.mark.parametrize(
    ("rain_mm", "effective_mm"),
    # BUD-14: Brouwer and Heibloem 1986, FAO training manual 3 (from memory); 10 mm is arithmetic.
    [(50, 20), (75, 35), (75.001, 35.0008), (100, 55), (10, 0), (0, 0)],
)
def test_a_month_of_rain_by_the_quick_rule(rain_mm, effective_mm):
    assert monthly_effective_rain_mm(rain_mm) == pytest.approx(effective_mm)


@pytest.mark.parametrize(("rain_in", "need_in", "effective_in"), [(4, 6, 2.95), (3, 4, 2.05)])
def test_a_month_of_rain_by_need_and_depth(rain_in, need_in, effective_in):
    # BUD-13: USDA-NRCS NEH 623, chapter 2 (from memory); the factor of three inches is 1.0007.
    effective = monthly_effective_rain_scs_mm(rain_in * 25.4, need_in * 25.4, 3 * 25.4)

    assert effective / 25.4 == pytest.approx(effective_in, abs=0.01)


def test_a_deeper_store_makes_more_of_a_month_of_rain():
    shallow, deep = monthly_effective_rain_scs_mm(100.0, 150.0, [25.4, 5 * 25.4])

    # Arithmetic: SF of 1 in is .773018, of 5 in 1.040642.
    assert shallow / deep == pytest.approx(0.773018 / 1.040642, rel=1e-5)


@given(st.floats(0, 1000), st.floats(0, 400), st.floats(10, 200))
def test_a_month_of_rain_adds_no_more_than_fell_or_was_needed(rain_mm, need_mm, depth_mm):
    effective = monthly_effective_rain_scs_mm(rain_mm, need_mm, depth_mm)

    assert 0 <= effective <= min(rain_mm, need_mm)
    assert 0 <= monthly_effective_rain_mm(rain_mm) <= rain_mm


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: monthly_effective_rain_mm(-1.0), "rain_mm"),
        (lambda: monthly_effective_rain_scs_mm(10.0, -1.0), "need_mm"),
        (lambda: monthly_effective_rain_scs_mm(10.0, 10.0, 3.0), "net_depth_mm"),
        (lambda: daily_effective_rain_mm([1.0, -1.0], 4.0), "rain_mm"),
        (lambda: daily_effective_rain_mm(1.0, 99.0), "et0_mm"),
    ],
)
def test_impossible_months_and_days_are_refused(call, field):
    with pytest.raises(InvalidInputError) as refusal:
        call()

    assert refusal.value.field == field


def test_a_day_of_little_rain_dries_off_and_a_wet_one_counts_nearly_whole():
    # FAO-56, chapter 8 (from memory): below 0.2 ET0 nothing counts.
    rain = daily_effective_rain_mm([0.0, 0.9, 1.0, 1.1, 20.0], 5.0)

    np.testing.assert_allclose(rain, [0.0, 0.0, 0.0, 0.99, 18.0])


def test_a_day_without_rain_or_et0_reading_is_missing():
    assert np.isnan(daily_effective_rain_mm([np.nan, 5.0], [4.0, np.nan])).all()
