"""Rules laid over past days; numbers are arithmetic and the calendar."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.dated_rules import DayRules
from scheduling.domain.replay import replay
from scheduling.domain.replay_limits import day_limits, like_day, rules_of_past, year_to_come
from scheduling.domain.replay_schedules import IdealSchedule, ReplayCase
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.replay_days import MONDAY, make_replay_days, make_replay_zone

ON = dt.date(2026, 11, 25)
OPEN, SHUT = DayRules(is_allowed=True), DayRules(is_allowed=False)


def coming(is_allowed):
    first = year_to_come(ON)
    days = (first + dt.timedelta(days=number) for number in range(366))
    return {day: OPEN if is_allowed(day) else SHUT for day in days}


def bound(is_allowed, days, **changes):
    dates = days.dates.astype("datetime64[D]").tolist()
    limits = WateringLimits(by_date=rules_of_past(coming(is_allowed), dates, ON))
    return replace(make_replay_zone(**changes), limits=limits)


@given(st.dates(dt.date(1990, 1, 1), dt.date(2026, 12, 31)), st.dates(dt.date(2026, 1, 1)))
def test_a_like_day_is_of_the_same_month_weekday_and_parity_within_a_week(day, on):
    if on > dt.date(2090, 1, 1):
        on = on.replace(year=2090)
    alike = like_day(day, on)

    assert (alike.month, alike.weekday(), alike.day % 2) == (day.month, day.weekday(), day.day % 2)
    assert abs(alike.day - day.day) <= 13
    first = year_to_come(on)
    assert first <= alike < dt.date(first.year + 1, first.month, 1)


def test_like_days_by_the_calendar():
    # 3 July 2018 was a Tuesday; in 2027 the odd Tuesdays of July are the 13th and the 27th.
    assert like_day(dt.date(2018, 7, 3), ON) == dt.date(2027, 7, 13)
    # 27 November 2018 was a Tuesday: in November 2026, which has begun, the 3rd and the 17th.
    assert like_day(dt.date(2018, 11, 27), ON) == dt.date(2026, 11, 17)


@pytest.mark.parametrize(
    "is_allowed",
    [
        lambda day: day.weekday() in (2, 5),
        lambda day: day.day % 2 == 1,
        lambda day: day.month not in (7, 8) or day.weekday() == 0,
    ],
)
def test_the_ideal_waters_on_allowed_days_alone(is_allowed):
    days = make_replay_days()
    free, kept = (
        ReplayCase(zone, IdealSchedule()) for zone in (make_replay_zone(), bound(is_allowed, days))
    )

    gross = replay([free, kept], days).gross_mm

    ran = [day for day, mm in zip(days.dates.tolist(), gross[:, 1], strict=True) if mm > 0]
    assert ran
    assert all(is_allowed(day) for day in ran)
    assert not all(is_allowed(day) for day in days.dates[gross[:, 0] > 0].tolist())


def test_a_cap_holds_on_each_day_and_costs_the_plants():
    # 5 mm of need a day, 4 mm a day at most: a fifth of the need stays unmet once the store is out.
    capped = DayRules(is_allowed=True, depth_cap_mm=4.0)
    days = make_replay_days()
    dates = days.dates.tolist()
    zone = make_replay_zone()
    zone = replace(zone, limits=WateringLimits(by_date=dict.fromkeys(dates, capped)))

    result = replay([ReplayCase(zone, IdealSchedule())], days)

    assert result.gross_mm.max() == pytest.approx(4.0)
    assert result.years.adequacy[0, 0] == pytest.approx(0.8, abs=0.02)


def test_the_minutes_of_a_rule_are_a_depth_by_the_rate():
    # 6 min at 30 mm/h are 3 mm.
    rules = DayRules(is_allowed=True, minutes_cap=6.0)
    zone = replace(make_replay_zone(), limits=WateringLimits(by_date={MONDAY: rules}))

    found = day_limits(zone, [MONDAY, MONDAY + dt.timedelta(days=1)])

    assert found.most_mm[0] == pytest.approx(3.0)
    assert found.most_mm[1] > 3.0
    assert found.may_water.tolist() == [True, True]


def test_weekdays_of_a_controller_count_where_no_rule_of_dates_is_known():
    zone = replace(make_replay_zone(), limits=WateringLimits(allowed_weekdays=frozenset({0})))

    week = [MONDAY + dt.timedelta(days=number) for number in range(7)]

    assert np.flatnonzero(day_limits(zone, week).may_water).tolist() == [0]


def test_one_day_a_week_is_watered_deeper_and_reported_where_it_costs():
    # Sand holds 15 mm readily available, three days of 5 mm: a week of seven cannot be met.
    days = make_replay_days()
    free, weekly = (
        ReplayCase(zone, IdealSchedule())
        for zone in (make_replay_zone(), bound(lambda day: day.weekday() == 0, days))
    )

    years = replay([free, weekly], days).years

    assert years.stress_days[0, 0] == 0 < years.stress_days[0, 1]
    assert years.adequacy[0, 1] < years.adequacy[0, 0]


def test_roots_that_hold_less_than_a_day_are_watered_several_times_a_day():
    # 20 mm of root depth on sand hold 1 mm or so: with one watering a day the plants starve.
    days = make_replay_days()
    shallow = make_replay_zone(root_depths_mm=(20.0,) * 12)
    once = replace(shallow, limits=WateringLimits(max_cycles=1))

    years = replay([ReplayCase(each, IdealSchedule()) for each in (once, shallow)], days).years

    assert years.deficit_mm[0, 1] < years.deficit_mm[0, 0]
