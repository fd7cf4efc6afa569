"""The running plans of a property: weather, settings and treatments as they are stored."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import RefusedError
from properties.models import Zone
from scheduling.models import ForecastDay
from scheduling.selectors.running_plans import property_running_plan, zone_running_plan
from tests import cast
from tests.audits import field_rows
from tests.scheduling.weather_rows import (
    YESTERDAY,
    clear,
    make_days,
    make_forecast,
    make_near_station,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN")
    make_days(station, count=1500)
    return station


@pytest.fixture
def tested(visit, zone, main):
    return cast.make_catch_test(visit, zone)


def set_down(zone, run_min=6, since=dt.date(2026, 5, 1)):
    setting = zone.controller.settings.create(source="found", since=since, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00"])
    program.runs.create(zone=zone, run_min=run_min)


def plan_of(zone):
    (found,) = zone_running_plan(zone, cast.NOW).zones
    return found.plan


def codes(plan):
    return [day.reasons[0].code for day in plan.days]


def test_fourteen_days_begin_with_today_at_the_property(zone, tested):
    days = plan_of(zone).days

    assert (len(days), days[0].date) == (14, cast.TODAY)
    assert any(day.is_watered for day in days)


def test_days_without_forecast_take_the_usual_ones(zone, tested, main):
    make_forecast(main, {"et0_mm": 7.5, "tmin_c": 12.0, "tmax_c": 30.0, "rain_mm": 2.0})

    first, second, *_ = plan_of(zone).days

    assert (first.et0_mm, first.is_forecast, first.forecast_rain_mm) == (7.5, True, 2.0)
    assert (second.is_forecast, second.forecast_rain_mm) == (False, None)
    assert 4.0 < second.et0_mm < 4.6  # between the lowest and the highest of the wave


def test_the_forecasts_age_is_told_and_none_is_stale(zone, tested, main):
    assert zone_running_plan(zone, cast.NOW).forecast.is_stale
    make_forecast(main, {"tmin_c": 12.0, "tmax_c": 30.0})

    found = zone_running_plan(zone, cast.NOW + dt.timedelta(hours=5)).forecast

    assert (found.age_hours, found.is_stale) == (5.0, False)


def test_a_forecast_frost_keeps_sprinklers_off(zone, tested, main):
    make_forecast(main, *[{"tmin_c": 2.0, "tmax_c": 12.0, "et0_mm": 4.0}] * 3)

    assert codes(plan_of(zone))[:3] == ["frost"] * 3


def test_what_the_setting_put_down_is_assumed_and_marked(zone, tested):
    bare = plan_of(zone).start
    set_down(zone, run_min=20)

    start = plan_of(zone).start

    assert start.stored_mm > bare.stored_mm
    assert (bare.is_assumed, start.is_assumed) == (False, True)
    assert zone_running_plan(zone, cast.NOW).zones[0].setting_since == dt.date(2026, 5, 1)


def test_days_that_nobody_has_are_counted(zone, tested, main):
    before = plan_of(zone).start
    clear(main, YESTERDAY)

    assert plan_of(zone).start.days_usual == before.days_usual + 1


def test_treatments_of_the_zone_and_of_the_whole_property_lie_over_the_plan(
    visit, controller, zone, tested
):
    hold = {"kind": "hold_water", "at_most_mm": None, "until": cast.NOW + dt.timedelta(days=2)}
    field_rows.make_treatment(visit, None, **hold)
    field_rows.make_treatment(visit, zone, is_called_off=True, **hold)
    other = cast.make_zone(controller, number=2)
    field_rows.make_treatment(visit, other, until=cast.NOW + dt.timedelta(days=20))

    plan = plan_of(zone)

    assert codes(plan)[:3] == ["hold"] * 3  # the last day is touched until ten in the morning
    assert codes(plan)[3] != "hold"
    assert len(plan.days[0].labels) == 1


def test_what_has_run_since_the_application_counts_as_watered_in(visit, zone, tested):
    applied = cast.NOW - dt.timedelta(days=4)
    until = cast.NOW + dt.timedelta(days=1)
    field_rows.make_treatment(visit, zone, applied_at=applied, until=until)
    assert codes(plan_of(zone))[:2] == ["water-in", "watered-in"]

    set_down(zone, run_min=20)

    assert codes(plan_of(zone))[:2] == ["watered-in", "watered-in"]


def test_a_zone_on_a_hose_and_one_by_hand_have_days_and_minutes_too(visit, garden, zone, tested):
    zone.controller = None
    zone.head_kind = "hose_end"
    zone.save()

    plan = plan_of(zone)

    assert any(day.minutes > 0 for day in plan.days)
    assert not plan.start.is_assumed


def test_a_zone_without_rate_says_so_in_its_place_and_alone_is_refused(
    garden, controller, zone, tested
):
    bare = cast.make_zone(controller, number=2)

    found = property_running_plan(garden, cast.NOW).zones

    assert [each.refusal and each.refusal.code for each in found] == [None, "no-rate"]
    with pytest.raises(RefusedError) as refusal:
        zone_running_plan(bare, cast.NOW)
    assert refusal.value.code == "no-rate"


def test_ten_zones_take_as_many_queries_as_one(
    visit, garden, zone, tested, main, django_assert_num_queries
):
    make_forecast(main, {"tmin_c": 12.0, "tmax_c": 30.0, "et0_mm": 5.0})
    set_down(zone)
    field_rows.make_treatment(visit, zone)
    # stations, days, usual days, company (2), forecast, its fetch, zones, heads, buckets, emitters,
    # tests, cups, mended tickets, what was mended on the spot, settings, programs, runs, treatments
    queries = 19
    with django_assert_num_queries(queries):
        property_running_plan(garden, cast.NOW)
    for number in range(2, 11):
        another = cast.make_zone(zone.controller, number=number, head_kind="drip")
        cast.make_catch_test(visit, another)
        field_rows.make_treatment(visit, another)
        Zone.objects.filter(pk=another.pk).update(planting_date=cast.TODAY)

    with django_assert_num_queries(queries):
        assert len(property_running_plan(garden, cast.NOW).zones) == 10
    assert ForecastDay.objects.exists()


def test_a_company_may_leave_room_for_rain(zone, tested, company):
    deep = plan_of(zone)
    company.leaves_room_for_rain = True
    company.save()

    roomy = plan_of(zone)

    def waterings(plan):
        return [day.gross_mm for day in plan.days if day.is_watered]

    assert len(waterings(roomy)) > len(waterings(deep)) > 0
    assert np.mean(waterings(roomy)) < np.mean(waterings(deep))
