"""What a district's rules leave of a zone's plan."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.selectors.running_plans import property_running_plan
from scheduling.selectors.seasons import property_season, zone_season
from scheduling.selectors.zone_limits import PropertyLimits
from tests import cast
from tests.properties.rule_rows import make_district, make_period, make_rule, make_stage

pytestmark = pytest.mark.django_db
WEDNESDAY_AND_SATURDAY = frozenset({2, 5})


@pytest.fixture
def ruled(visit, zone, station):
    cast.make_catch_test(visit, zone)
    district = make_district()
    make_rule(district, minutes_cap=60)
    zone.property.watering_district = district
    zone.property.save()
    return zone


def test_without_a_district_the_controller_alone_binds(zone):
    limits = PropertyLimits(zone.property).between(zone, cast.TODAY, cast.TODAY)

    assert (limits.allowed_weekdays, limits.daily_minutes_cap) == (None, None)
    assert limits.minute_step == zone.controller.minute_step


def test_days_and_caps_of_the_district_bind_beside_the_controller(ruled):
    limits = PropertyLimits(ruled.property).between(
        ruled, cast.TODAY, cast.TODAY + dt.timedelta(days=13)
    )

    assert limits.allowed_weekdays == WEDNESDAY_AND_SATURDAY
    assert limits.daily_minutes_cap == 60
    assert limits.minute_step == ruled.controller.minute_step


def test_the_season_waters_on_the_allowed_days(ruled):
    _, _, facts = zone_season(ruled, cast.TODAY)

    july = facts.plan.months[6]
    assert set(july.weekdays) <= WEDNESDAY_AND_SATURDAY
    # Two days a week are too few for a lawn of the cast in July: the shortfall has a name.
    assert july.shortfall_mm_day > 0


def test_a_stage_binds_the_months_for_which_it_is_switched_on(ruled):
    district = ruled.property.watering_district
    stage = make_stage(district)
    make_rule(district, name="One day", stage=stage, weekdays=[2])
    make_period(stage, first_date=dt.date(2026, 8, 1), last_date=dt.date(2026, 8, 31))

    limits = PropertyLimits(ruled.property).by_month(ruled, cast.TODAY)

    assert limits[7].allowed_weekdays == {2}
    assert limits[8].allowed_weekdays == WEDNESDAY_AND_SATURDAY
    # January to May are those of the next year.
    assert limits[0].allowed_weekdays == WEDNESDAY_AND_SATURDAY


def test_the_running_plan_keeps_to_the_days(ruled):
    found = property_running_plan(ruled.property, cast.NOW)

    (plan,) = [each.plan for each in found.zones]
    watered = {day.date.weekday() for day in plan.days if day.minutes}
    assert watered
    assert watered <= WEDNESDAY_AND_SATURDAY


def test_more_zones_ask_the_rules_no_more_often(ruled, django_assert_max_num_queries):
    with django_assert_max_num_queries(25) as queries:
        property_season(ruled.property, cast.TODAY)
    before = len(queries)
    for number in range(2, 6):
        cast.make_heads(cast.make_zone(ruled.controller, number=number))

    with django_assert_max_num_queries(before):
        property_season(ruled.property, cast.TODAY)
