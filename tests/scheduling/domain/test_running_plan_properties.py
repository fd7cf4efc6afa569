"""What must hold of every running plan, whatever zone, weather and rules."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from properties.domain.errors import RefusedError
from scheduling.domain.dated_rules import DayRules
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.running import DAYS, MONDAY, make_ahead, make_past, plan

TINY = 1e-6
DEPTH_CAPS = st.none() | st.sampled_from([3.0, 8.0, 20.0])
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


def planned(case):
    zone, limits, past, et0, rains = case
    try:
        return plan(limits, past, make_ahead(et0_mm=et0, rain_mm=rains), **zone)
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


@st.composite
def hotter_cases(draw):
    """A case with frost and rules of each date, and by how much each of its days is hotter."""
    zone, limits, past, et0, rains = draw(cases())
    if draw(st.booleans()):
        days = [
            DayRules(is_allowed=draw(st.integers(0, 3)) > 0, depth_cap_mm=draw(DEPTH_CAPS))
            for _ in range(DAYS)
        ]
        dates = [MONDAY + dt.timedelta(days=place) for place in range(DAYS)]
        limits = replace(limits, by_date=dict(zip(dates, days, strict=True)))
    else:
        limits = replace(limits, daily_depth_cap_mm=draw(DEPTH_CAPS))
    frost = draw(st.lists(st.integers(0, 4).map(lambda one: not one), min_size=DAYS, max_size=DAYS))
    more = draw(st.lists(st.floats(0, 4), min_size=DAYS, max_size=DAYS))
    weather = {"rain_mm": rains, "tmin_c": np.where(frost, 1.0, 15.0)}
    return zone, limits, past, (et0, np.array(more), draw(st.floats(0, 2))), weather


@settings(max_examples=150, deadline=None, derandomize=True)
@given(hotter_cases())
def test_a_greater_et0_never_gets_less_by_more_than_one_watering_up_to_any_day(case):
    zone, limits, past, (et0, more, more_before), weather = case
    drier = replace(past, et0_mm=past.et0_mm + more_before)
    try:
        cool = plan(limits, past, make_ahead(et0_mm=et0, **weather), **zone)
        warm = plan(limits, drier, make_ahead(et0_mm=et0 + more, **weather), **zone)
    except RefusedError:
        reject()
    one = max(day.net_mm for day in (*cool.days, *warm.days))

    less = np.cumsum([day.net_mm for day in cool.days])
    much = np.cumsum([day.net_mm for day in warm.days])
    assert (much >= less - one - TINY).all()


@pytest.mark.parametrize("roots_mm", [40.0, 36.0])
def test_a_cap_is_not_divided_into_waterings_below_a_step(roots_mm):
    """Roots of 3 or 2.7 mm, a cap of 3: two waterings would each be less than a step of 2 mm."""
    limits = WateringLimits(minute_step=5.0, daily_depth_cap_mm=3.0)
    zone = {"rate_mm_h": 24.0, "root_depths_mm": (roots_mm,) * 12}

    found = plan(limits, make_past(), make_ahead(et0_mm=9.0), **zone)

    assert {(day.waterings, day.minutes) for day in found.days} == {(1, 5.0)}


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
