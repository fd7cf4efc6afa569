from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.rain import effective_rain_mm, rain_for_effective_mm, rain_skip_days

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
