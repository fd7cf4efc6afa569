"""What a district's rules leave of a zone's plan."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import WateringRule
from scheduling.selectors.running_plans import property_running_plan
from scheduling.selectors.seasons import property_season, zone_season
from scheduling.selectors.zone_limits import PropertyLimits
from tests import cast
from tests.audits import field_rows
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


def test_a_stage_binds_the_running_plan_from_its_first_date_on(ruled):
    # The usual days are Wednesday and Saturday; from the second week on only Wednesday.
    first = cast.TODAY + dt.timedelta(days=7)
    stage = make_stage(ruled.property.watering_district)
    make_rule(ruled.property.watering_district, name="One day", stage=stage, weekdays=[2])
    make_period(stage, first_date=first, last_date=None)

    limits = PropertyLimits(ruled.property).on_dates(ruled, cast.TODAY, 14)

    allowed = [day for day in limits.by_date if limits.allows(day)]
    assert {day.weekday() for day in allowed if day < first} == {2, 5}
    assert {day.weekday() for day in allowed if day >= first} == {2}
    # Days beyond the fortnight are known too, for the last watering waits for one of them.
    assert max(limits.by_date) == cast.TODAY + dt.timedelta(days=14 + 31 - 1)
    assert limits.on(allowed[0]).daily_minutes_cap == 60


def test_a_treatment_is_watered_in_by_the_rule_of_the_district(ruled, visit):
    WateringRule.objects.update(
        weekdays=[cast.TODAY.weekday() - 2], treatment_depth_mm=6.35, treatment_within_h=24
    )
    field_rows.make_treatment(visit, ruled, at_most_mm=10.0)

    (found,) = property_running_plan(ruled.property, cast.NOW).zones

    (water_in,) = found.water_ins
    assert (water_in.limits.code, water_in.reason.code) == ("rule", "water-in-rule")
    assert water_in.limits.rule.at_most_mm == 6.35
    assert water_in.limits.rule.source == ruled.property.watering_district.name
    assert set(water_in.limits.relieved) == {cast.TODAY, cast.TODAY + dt.timedelta(days=1)}
    first = found.plan.days[0]
    assert first.reasons[0].code == "water-in-relieved"
    assert 5.0 < first.gross_mm <= 6.35


@pytest.mark.parametrize("has_district", [True, False])
def test_without_a_rule_the_label_binds_and_the_answer_says_so(ruled, visit, has_district):
    WateringRule.objects.update(weekdays=[cast.TODAY.weekday()])
    if not has_district:
        ruled.property.watering_district = None
        ruled.property.save()
    field_rows.make_treatment(visit, ruled, at_most_mm=6.0)

    (found,) = property_running_plan(ruled.property, cast.NOW).zones

    (water_in,) = found.water_ins
    code = "water-in-no-rule" if has_district else "water-in-no-district"
    assert (water_in.reason.code, water_in.limits.rule) == (code, None)
    assert "label says binds" in water_in.reason.sentence
    assert found.plan.days[0].reasons[0].code == "water-in"
