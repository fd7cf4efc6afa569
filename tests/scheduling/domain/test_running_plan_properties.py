"""What must hold of every running plan, whatever zone, weather and rules."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from properties.domain.errors import RefusedError
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.running import DAYS, MONDAY, make_ahead, make_past, plan

TINY = 1e-6
quick = settings(max_examples=40, deadline=None, derandomize=True)


@st.composite
def cases(draw, rain=None):
    zone = {
        "rate_mm_h": draw(st.floats(5, 40)),
        "du_lq": draw(st.floats(0.4, 1.0)),
        "root_depths_mm": (draw(st.floats(50, 500)),) * 12,
        "min_days_between": draw(st.integers(1, 3)),
    }
    limits = WateringLimits(
        allowed_weekdays=draw(st.none() | st.frozensets(st.integers(0, 6), min_size=1)),
        minute_step=draw(st.sampled_from([0.5, 1.0, 5.0])),
        max_cycles=draw(st.integers(2, 8)),
    )
    et0 = np.array(draw(st.lists(st.floats(0.5, 9), min_size=DAYS, max_size=DAYS)))
    depths = st.sampled_from([0.0, 0.0, 0.0, 4.0, 30.0]) if rain is None else st.just(rain)
    rains = np.array(draw(st.lists(depths, min_size=DAYS, max_size=DAYS)))
    past = make_past(et0_mm=draw(st.floats(0.5, 6)))
    return zone, limits, past, et0, rains


def planned(case, more_mm=0.0):
    zone, limits, past, et0, rains = case
    try:
        ahead = make_ahead(et0_mm=et0 + more_mm, rain_mm=rains)
        return plan(limits, past, ahead, **zone)
    except RefusedError:
        reject()


def until_next_mm(case, place):
    """Second route: the need, equal to ET0, until the next allowed day; the last day goes on."""
    zone, limits, _, et0, _ = case
    allowed = limits.allowed_weekdays or frozenset(range(7))
    gap = zone["min_days_between"]
    while (MONDAY + dt.timedelta(days=place + gap)).weekday() not in allowed:
        gap += 1
    return sum(et0[min(day, DAYS - 1)] for day in range(place, place + gap))


@quick
@given(cases())
def test_the_store_stays_between_nothing_and_what_the_roots_hold(case):
    for day in planned(case).days:
        assert -TINY <= day.stored_after_mm <= day.capacity_mm + TINY
        assert -TINY <= day.stored_before_mm <= day.capacity_mm + TINY
        assert day.net_mm <= (day.capacity_mm - day.limit_mm) * max(day.waterings, 1) + TINY


@quick
@given(cases())
def test_no_forbidden_day_is_watered_and_minutes_are_on_the_step(case):
    limits = case[1]
    last = None
    for place, day in enumerate(planned(case).days):
        if not day.is_watered:
            assert day.gross_mm == day.minutes == 0.0
            continue
        assert limits.allowed_weekdays is None or day.date.weekday() in limits.allowed_weekdays
        assert day.cycle_min / limits.minute_step == pytest.approx(
            round(day.cycle_min / limits.minute_step)
        )
        assert 1 <= day.cycles * day.waterings <= limits.max_cycles
        assert last is None or place - last >= case[0]["min_days_between"]
        last = place


@quick
@given(cases(), st.floats(0, 3))
def test_a_greater_need_never_gets_less_by_more_than_one_watering(case, more):
    cool, warm = planned(case), planned(case, more)
    one = max((day.net_mm for day in (*cool.days, *warm.days)), default=0.0)

    assert warm.net_mm >= cool.net_mm - one - TINY


@quick
@given(cases(rain=60.0))
def test_before_heavy_rain_nothing_is_watered_that_the_roots_can_do_without(case):
    for place, day in enumerate(planned(case).days):
        if day.is_watered:
            assert day.stored_before_mm - day.limit_mm < until_next_mm(case, place)
            assert day.reasons[0].code == "lack"


@quick
@given(cases())
def test_the_water_of_the_days_adds_up(case):
    for day in planned(case).days:
        if day.waterings <= 1:
            drained_mm = max(0.0, day.stored_before_mm + day.net_mm - day.capacity_mm)
            used_mm = day.need_mm - day.deficit_mm
            assert day.stored_after_mm == pytest.approx(
                day.stored_before_mm + day.net_mm - drained_mm - used_mm, abs=1e-6
            )
