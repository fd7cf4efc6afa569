"""The outlook of a property: forecast days joined to the observed ones, and the facts of both."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.domain.weather_words import FrostAhead, HeatRun
from scheduling.models import WeatherDay
from scheduling.selectors.seasons import property_season
from scheduling.selectors.weather_outlook import local_date, weather_outlook
from tests import cast
from tests.scheduling.weather_rows import YESTERDAY, make_days, make_forecast, make_near_station

TODAY = cast.TODAY


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN")
    make_days(station, count=1500)
    return station


def set_days(station, ages, **values):
    dates = [YESTERDAY - dt.timedelta(days=age) for age in ages]
    WeatherDay.objects.filter(station=station, date__in=dates).update(**values)


def test_sixty_days_end_yesterday_and_the_forecast_begins_today(garden, main):
    make_forecast(main, *[{"tmin_c": 12.0, "tmax_c": 25.0}] * 20)

    outlook = weather_outlook(garden, TODAY)

    assert outlook.weather.dates.size == 60
    assert str(outlook.weather.dates[-1]) == str(YESTERDAY)
    assert [outlook.forecast[0].date, len(outlook.forecast)] == [TODAY, 16]


def test_forecast_frost_and_heat_are_facts(garden, main):
    make_forecast(main, {"tmin_c": 4.0}, {}, {"tmin_c": 2.5, "tmax_c": 20.0})
    set_days(main, range(3), tmax_c=40.0)
    set_days(main, [3], tmax_c=22.0)

    outlook = weather_outlook(garden, TODAY)

    frost, heat = outlook.facts
    assert frost == FrostAhead(TODAY + dt.timedelta(days=2), 2.5, 3.0)
    assert heat == HeatRun(
        YESTERDAY - dt.timedelta(days=2), YESTERDAY, 3, 40.0, outlook.hot_c, False
    )
    assert outlook.hot_c == 28.0  # the hottest of seven equal waves: 22 to 28 degC


def test_a_hole_in_the_forecast_does_not_shift_its_days(garden, main):
    make_forecast(main, {"tmin_c": 9.0}, {"tmin_c": 9.0}, {"tmin_c": 9.0}, {"tmin_c": 1.0})
    main.forecast_days.filter(date=TODAY + dt.timedelta(days=1)).delete()

    (frost,) = weather_outlook(garden, TODAY).facts

    assert frost.first_date == TODAY + dt.timedelta(days=3)


def test_a_young_station_does_not_know_what_is_hot(garden):
    make_days(make_near_station("ZZMAIN"), count=100)

    assert weather_outlook(garden, TODAY).hot_c is None


def test_each_zone_has_the_soaking_that_fills_its_own_roots(garden, main, zone):
    cast.make_heads(zone)
    deep = cast.make_zone(zone.controller, number=2, root_depths_mm=[900] * 12)
    cast.make_heads(deep)
    set_days(main, [1], rain_mm=25.4)
    set_days(main, range(2, 20), rain_mm=0.0)
    set_days(main, [0], rain_mm=0.0)

    shallow_soaking, deep_soaking = weather_outlook(garden, TODAY).soakings

    plan = property_season(garden).zones[0].plan.months[TODAY.month - 1]
    assert shallow_soaking.fact.last_date == YESTERDAY - dt.timedelta(days=1)
    assert shallow_soaking.fact.skip_days == int(plan.raw_mm / plan.need_mm_day)
    assert shallow_soaking.fact.effective_mm >= plan.raw_mm
    assert (deep_soaking.zone, deep_soaking.fact) == (deep, None)


def test_without_a_usual_year_there_are_no_zones_but_days(garden, zone):
    make_days(make_near_station("ZZMAIN"), count=70)

    outlook = weather_outlook(garden, TODAY)

    assert outlook.soakings == ()
    assert outlook.weather.gaps.days_missing == 0


def test_the_day_is_that_of_the_property(garden):
    garden.time_zone = "Pacific/Auckland"

    assert local_date(garden, cast.NOW) == TODAY + dt.timedelta(days=1)
