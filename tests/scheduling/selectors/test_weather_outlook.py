"""The outlook of a property: forecast days joined to the observed ones, and the facts of both."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.domain.weather_words import FrostAhead, HeatRun
from scheduling.models import WeatherDay
from scheduling.selectors.seasons import property_season
from scheduling.selectors.weather import climate_of
from scheduling.selectors.weather_outlook import local_date, weather_outlook
from tests import cast
from tests.scheduling.selectors.test_water_accounts import set_down
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
    assert frost == FrostAhead(TODAY + dt.timedelta(days=2), 2.5, 3.0, 1)
    assert heat == HeatRun(YESTERDAY - dt.timedelta(days=2), YESTERDAY, 3, 40.0, outlook.hot_c, 0)
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
    set_days(main, range(1, 20), rain_mm=0.0)
    set_days(main, [0], rain_mm=25.4)

    shallow_soaking, deep_soaking = weather_outlook(garden, TODAY).soakings

    plan = property_season(garden).zones[0].plan.months[TODAY.month - 1]
    assert shallow_soaking.fact.last_date == YESTERDAY
    usual_mm = climate_of(main).et0_mm_day[TODAY.month - 1]
    used_mm = plan.need_mm_day * main.days.get(date=YESTERDAY).et0_mm / usual_mm
    left_mm = plan.raw_mm - used_mm
    assert shallow_soaking.fact.skip_days == int(left_mm / plan.need_mm_day) > 0
    assert shallow_soaking.fact.effective_mm >= plan.raw_mm
    assert (deep_soaking.zone, deep_soaking.fact) == (deep, None)


def soaking_of(garden):
    (soaking,) = weather_outlook(garden, TODAY).soakings
    return soaking.fact


def test_a_long_wet_spell_and_rain_to_come_are_soakings(garden, main, zone):
    cast.make_heads(zone)
    set_days(main, range(60), rain_mm=0.0)
    assert soaking_of(garden) is None
    raw_mm = property_season(garden).zones[0].plan.months[TODAY.month - 1].raw_mm

    set_days(main, range(20), rain_mm=5.0, et0_mm=2.0)
    spell = soaking_of(garden)
    set_days(main, range(20), rain_mm=0.0, et0_mm=4.0)
    make_forecast(main, {"rain_mm": 1.0}, {"rain_mm": 60.0})
    coming = soaking_of(garden)

    assert (spell.last_date, spell.is_forecast) == (YESTERDAY, False)
    assert spell.days > 2
    assert spell.effective_mm >= raw_mm > 2 * 0.9 * 5.0
    assert (coming.last_date, coming.forecast_mm) == (TODAY + dt.timedelta(days=1), 60.0)
    assert coming.is_forecast


# The need of a day with a quarter of the usual ET0 is a quarter of the usual.
def test_a_cool_wet_spell_fills_what_a_hot_one_does_not(garden, main, zone):
    cast.make_heads(zone)
    set_days(main, range(60), rain_mm=0.0)
    set_days(main, range(6), rain_mm=4.0, et0_mm=8.0)
    hot = soaking_of(garden)
    set_days(main, range(6), et0_mm=0.5)

    assert hot is None
    assert soaking_of(garden).last_date == YESTERDAY


def test_a_watered_lawn_starts_from_its_account(garden, main, zone):
    cast.make_heads(zone)
    set_days(main, range(60), rain_mm=0.0)
    set_days(main, [0], rain_mm=9.0)
    (dry,) = weather_outlook(garden, TODAY).soakings
    set_down(zone, dt.date(2026, 4, 1), 20, range(7))

    (watered,) = weather_outlook(garden, TODAY).soakings

    assert (dry.fact, dry.starts_from, dry.setting_since) == (None, "used-up", None)
    assert dry.assumed_waterings == 0
    assert (watered.starts_from, watered.setting_since) == ("account", dt.date(2026, 4, 1))
    assert (watered.account_since, watered.assumed_waterings) == (dt.date(2026, 4, 11), 60)
    assert watered.fact.last_date == YESTERDAY
    assert watered.fact.days_watered >= 1


def test_of_days_ahead_no_watering_is_taken(garden, main, zone):
    cast.make_heads(zone)
    set_days(main, range(60), rain_mm=0.0)
    set_down(zone, dt.date(2026, 4, 1), 20, range(7))
    make_forecast(main, *[{"et0_mm": 6.0, "rain_mm": 0.0}] * 5, {"et0_mm": 1.0, "rain_mm": 8.0})

    (soaking,) = weather_outlook(garden, TODAY).soakings

    assert (soaking.fact, soaking.assumed_waterings) == (None, 60)


def test_a_setting_that_came_late_waters_but_does_not_start_the_account(garden, main, zone):
    cast.make_heads(zone)
    set_down(zone, YESTERDAY - dt.timedelta(days=3), 20, range(7))

    (soaking,) = weather_outlook(garden, TODAY).soakings

    assert (soaking.starts_from, soaking.assumed_waterings) == ("used-up", 4)


def test_frost_and_heat_far_ahead_are_shown_not_told(garden, main):
    days = [{"tmin_c": 12.0, "tmax_c": 20.0}] * 12
    make_forecast(main, *days, {"tmax_c": 40.0}, {"tmax_c": 40.0}, {"tmax_c": 40.0, "tmin_c": 2.9})

    outlook = weather_outlook(garden, TODAY)

    assert len(outlook.forecast) == 15
    assert outlook.facts == ()


def test_both_frosts_are_facts(garden, main):
    make_forecast(main, {"tmin_c": 1.0}, {"tmin_c": -3.0})

    codes = [fact.code for fact in weather_outlook(garden, TODAY).facts]

    assert codes == ["frost-ahead", "hard-frost-ahead"]


def test_heat_at_a_late_station_is_told_up_to_its_last_day(garden, main):
    set_days(main, range(2, 6), tmax_c=40.0)
    main.days.filter(date__gt=YESTERDAY - dt.timedelta(days=2)).delete()

    (heat,) = weather_outlook(garden, TODAY).facts

    assert heat.last_date == YESTERDAY - dt.timedelta(days=2)
    assert (heat.days, heat.days_unknown_after) == (4, 2)
    assert "the last 2 days before today unknown" in heat.sentence("us")


def test_without_a_usual_year_there_are_no_zones_but_days(garden, zone):
    make_days(make_near_station("ZZMAIN"), count=70)

    outlook = weather_outlook(garden, TODAY)

    assert outlook.soakings == ()
    assert outlook.weather.gaps.days_missing == 0


def test_the_day_is_that_of_the_property(garden):
    garden.time_zone = "Pacific/Auckland"

    assert local_date(garden, cast.NOW) == TODAY + dt.timedelta(days=1)
