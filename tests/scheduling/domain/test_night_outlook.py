"""What the nightly look at all zones says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.night_outlook import (
    AHEAD_DAYS,
    PAST_DAYS,
    NightWeather,
    NightZones,
    night_outlook,
)


def zones(count=1, **changes) -> NightZones:
    """A lawn that holds 20 mm, uses 0.8 ET0, and gets 20 mm net of 25 gross."""
    values = {
        "raw_mm": 20.0, "need_per_et0": 0.8, "usual_et0_mm": 5.0, "net_mm": 20.0,
        "gross_mm": 25.0, "least_days": 1.0, "most_days": 31.0, **changes,
    }  # fmt: skip
    return NightZones(
        **{name: np.broadcast_to(np.asarray(v, float), count) for name, v in values.items()}
    )


def weather(et0_mm=5.0, rain=None, forecast=None) -> NightWeather:
    fallen, expected = np.zeros(PAST_DAYS), np.zeros(AHEAD_DAYS)
    for day, depth_mm in (rain or {}).items():
        fallen[day] = depth_mm
    for day, depth_mm in (forecast or {}).items():
        expected[day] = depth_mm
    return NightWeather(
        et0_mm=np.full(PAST_DAYS + AHEAD_DAYS, et0_mm), rain_mm=fallen, forecast_rain_mm=expected
    )


def test_the_warmer_it_is_the_nearer_the_waterings():
    # Arithmetic: 20 mm over 0.8 x ET0 of 2.5, 5 and 10 mm are 10, 5 and 2.5 days.
    days = [int(night_outlook(zones(), weather(et0)).days_between[0]) for et0 in (2.5, 5.0, 10.0)]

    assert days == [10, 5, 2]


def test_percent_of_a_usual_day_comes_in_steps_of_five():
    # Arithmetic: 6.1 over 5.0 is 122 %.
    assert night_outlook(zones(), weather(6.1)).percent.tolist() == [120]
    assert night_outlook(zones(), weather(5.0)).percent.tolist() == [100]


@pytest.mark.parametrize(("least", "most", "days"), [(1, 31, 5), (7, 31, 7), (1, 3, 3), (9, 3, 9)])
def test_the_zone_says_how_near_and_how_far(least, most, days):
    found = night_outlook(zones(least_days=least, most_days=most), weather())

    assert found.days_between.tolist() == [days]


def test_what_is_not_watered_this_month_is_not_due():
    found = night_outlook(zones(need_per_et0=0.0, net_mm=0.0, gross_mm=0.0), weather())

    assert (found.days_between[0], found.percent[0], found.next_in_days[0]) == (0, 0, -1)
    assert found.need_mm_day[0] == 0.0


def test_after_a_soaking_rain_yesterday_it_is_due_when_the_roots_are_empty():
    # Arithmetic: the rain fills the roots, the need of its day leaves 16 mm; four more days of 4 mm
    # leave nothing, so that it is due on the fifth morning, four days from today.
    found = night_outlook(zones(), weather(rain={PAST_DAYS - 1: 80.0}))

    assert found.next_in_days.tolist() == [4]


def test_a_forecast_rain_puts_it_off_but_never_fills_the_roots():
    # Three days of need are left when it would be due, so that it may wait for tomorrow's rain.
    soaked = {PAST_DAYS - 1: 80.0}
    dry = night_outlook(zones(), weather(rain=soaked)).next_in_days[0]
    wet = night_outlook(zones(), weather(rain=soaked, forecast={dry: 30.0})).next_in_days[0]

    assert dry <= wet <= dry + 1


def test_zones_are_told_apart_and_in_order():
    both = night_outlook(zones(2, raw_mm=[20.0, 8.0], net_mm=[20.0, 8.0], gross_mm=[25, 10]),
                         weather())  # fmt: skip
    alone = night_outlook(zones(raw_mm=8.0, net_mm=8.0, gross_mm=10), weather())

    assert both.days_between.tolist() == [5, 2]
    assert both.next_in_days[1] == alone.next_in_days[0]


@given(
    st.floats(0.5, 12.0), st.floats(0.5, 12.0), st.floats(2.0, 80.0), st.floats(0.2, 1.2),
)  # fmt: skip
def test_a_greater_et0_never_gives_more_days_between(one, other, raw_mm, factor):
    low, high = sorted((one, other))
    lawn = zones(raw_mm=raw_mm, need_per_et0=factor, net_mm=raw_mm, gross_mm=raw_mm / 0.8)

    cool, warm = (night_outlook(lawn, weather(et0)) for et0 in (low, high))

    assert warm.days_between[0] <= cool.days_between[0]
    assert warm.percent[0] >= cool.percent[0]


def test_weather_of_another_length_is_refused_by_name():
    with pytest.raises(InvalidInputError) as refusal:
        replace(weather(), rain_mm=np.zeros(PAST_DAYS + 1))

    assert (refusal.value.field, refusal.value.code) == ("et0_mm", "shapes-differ")


def test_a_missing_value_is_refused():
    broken = weather()
    broken.et0_mm[3] = np.nan

    with pytest.raises(InvalidInputError):
        night_outlook(zones(), broken)
