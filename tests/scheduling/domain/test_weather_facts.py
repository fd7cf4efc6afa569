"""Facts of the weather: frost ahead, heat, soaking rain, dry spell."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.weather_facts import (
    dry_spell,
    frost_ahead,
    heat_run,
    hot_threshold_c,
    soaking_rain,
)
from scheduling.domain.weather_words import DrySpell, FrostAhead, HeatRun, SoakingRain

NAN = math.nan
FIRST = dt.date(2026, 6, 1)


def make_weather(seen=10, ahead=5, **columns):
    """Ten mild dry days and five forecast ones, but for the values given by place."""
    count = seen + ahead
    usual = {"tmin_c": 12.0, "tmax_c": 24.0, "rain_mm": 0.0}
    filled = {}
    for name, value in usual.items():
        filled[name] = np.full(count, value)
        for place, own in columns.get(name, {}).items():
            filled[name][place] = own
    dates = np.datetime64(FIRST, "D") + np.arange(count)
    return DailyWeather(dates=dates, is_forecast=np.arange(count) >= seen, **filled)


def day(place):
    return FIRST + dt.timedelta(days=place)


def test_the_first_forecast_night_at_the_threshold_is_frost():
    weather = make_weather(tmin_c={4: -2.0, 11: 3.01, 12: 3.0, 13: -1.0})

    assert frost_ahead(weather) == FrostAhead(day(12), 3.0, 3.0)
    assert frost_ahead(weather, threshold_c=0.0) == FrostAhead(day(13), -1.0, 0.0)
    assert frost_ahead(weather, threshold_c=-5.0) is None


def test_frost_that_was_or_is_unknown_is_none_ahead():
    assert frost_ahead(make_weather(tmin_c={3: -5.0, 12: NAN})) is None
    assert frost_ahead(make_weather(ahead=0, tmin_c={3: -5.0})) is None


def test_hot_days_that_reach_into_the_forecast_are_one_run():
    weather = make_weather(tmax_c={8: 35.0, 9: 36.5, 10: 35.0})

    assert heat_run(weather, threshold_c=35.0) == HeatRun(day(8), day(10), 3, 36.5, 35.0, True)
    assert heat_run(weather, threshold_c=35.1) is None
    assert heat_run(weather, threshold_c=35.0, least_days=4) is None


def test_a_run_that_is_over_is_not_told():
    over = make_weather(tmax_c=dict.fromkeys((5, 6, 7, 8), 35.0))
    on = make_weather(tmax_c=dict.fromkeys((6, 7, 8, 9), 35.0))

    assert heat_run(over, threshold_c=35.0) is None
    assert heat_run(on, threshold_c=35.0) == HeatRun(day(6), day(9), 4, 35.0, 35.0, False)


def test_an_unknown_maximum_ends_a_run():
    weather = make_weather(tmax_c={8: 35.0, 9: NAN, 10: 35.0, 11: 35.0})

    assert heat_run(weather, threshold_c=35.0) is None


# Texas A&M AgriLife effective rain: 22.86 mm of one inch, 0.1 in being lost.
def test_a_rain_that_fills_the_store_is_told_with_the_days_it_lasts():
    weather = make_weather(rain_mm={7: 25.4})

    fact = soaking_rain(weather, store_mm=20.0, need_mm_day=4.0)

    assert fact == SoakingRain(day(7), day(7), 25.4, pytest.approx(22.86), 5, False)
    assert fact.resume_date == day(13)


def test_two_wet_days_in_a_row_are_one_soaking():
    weather = make_weather(rain_mm={6: 15.0, 7: 15.0})  # 12.46 mm effective each

    fact = soaking_rain(weather, store_mm=24.0, need_mm_day=6.0)

    assert (fact.first_date, fact.last_date, fact.rain_mm) == (day(6), day(7), 30.0)
    assert fact.effective_mm == pytest.approx(2 * 12.46)
    assert soaking_rain(weather, store_mm=25.0, need_mm_day=6.0) is None


def test_two_wet_days_with_a_dry_one_between_are_not():
    assert soaking_rain(
        make_weather(rain_mm={5: 15.0, 7: 15.0}), store_mm=24.0, need_mm_day=6.0
    ) is None  # fmt: skip


# Arithmetic: 20 mm at 5 mm a day last four days: the 7th to the 10th after rain on the 6th.
@pytest.mark.parametrize(("place", "is_told"), [(5, False), (6, True)])
def test_a_rain_is_told_only_while_it_lasts(place, is_told):
    weather = make_weather(rain_mm={place: 40.0})

    fact = soaking_rain(weather, store_mm=20.0, need_mm_day=5.0)

    assert (fact is not None) is is_told
    assert fact is None or fact.resume_date == day(11)


def test_a_forecast_soaking_is_told_when_none_lasts():
    both = make_weather(rain_mm={8: 40.0, 12: 40.0})
    ahead = make_weather(rain_mm={2: 40.0, 12: 40.0, 13: 40.0})

    assert soaking_rain(both, store_mm=20.0, need_mm_day=5.0).last_date == day(8)
    fact = soaking_rain(ahead, store_mm=20.0, need_mm_day=5.0)
    assert (fact.last_date, fact.is_forecast) == (day(12), True)


def test_a_store_that_holds_water_needs_less_rain():
    weather = make_weather(rain_mm={8: 10.0})  # 7.46 mm effective

    assert soaking_rain(weather, store_mm=20.0, need_mm_day=5.0) is None
    assert soaking_rain(weather, store_mm=20.0, need_mm_day=5.0, already_mm=12.6) is not None


def test_a_full_store_is_not_refilled_by_no_rain():
    assert soaking_rain(make_weather(), store_mm=20.0, need_mm_day=5.0, already_mm=20.0) is None


# 0.1 in are 2.54 mm.
def test_a_dry_spell_begins_after_the_last_useful_rain():
    weather = make_weather(seen=20, rain_mm={3: 2.55, 9: 2.54, 15: 1.0})

    assert dry_spell(weather) == DrySpell(day(4), day(19), 16, 0, pytest.approx(3.54))
    assert dry_spell(weather, least_days=17) is None


def test_forecast_rain_does_not_end_a_dry_spell():
    weather = make_weather(seen=20, rain_mm={22: 30.0})

    assert dry_spell(weather).days == 20


def test_unknown_days_are_counted_and_told():
    weather = make_weather(seen=20, rain_mm={5: NAN, 6: NAN})
    dark = make_weather(seen=20, rain_mm=dict.fromkeys(range(10), NAN))

    assert (dry_spell(weather).days, dry_spell(weather).days_unknown) == (20, 2)
    assert dry_spell(dark) is None


def test_the_hottest_days_are_those_of_whole_years():
    maxima = np.arange(2000.0) / 100

    assert hot_threshold_c(maxima) == pytest.approx(np.percentile(maxima, 95))
    assert hot_threshold_c(maxima, percent=90.0) == pytest.approx(np.percentile(maxima, 90))


def test_few_days_do_not_tell_what_is_hot():
    maxima = np.concatenate([np.full(1460, 20.0), np.full(500, NAN)])

    assert hot_threshold_c(maxima) is None
    assert hot_threshold_c(np.append(maxima, 20.0)) == 20.0
    assert hot_threshold_c(np.array([])) is None


FROST = FrostAhead(dt.date(2026, 10, 3), -2.0, 3.0)
HEAT = HeatRun(dt.date(2026, 7, 1), dt.date(2026, 7, 4), 4, 39.0, 35.0, True)
RAIN = SoakingRain(dt.date(2026, 7, 1), dt.date(2026, 7, 2), 30.48, 27.9, 5, False)
COMING = SoakingRain(dt.date(2026, 7, 1), dt.date(2026, 7, 2), 30.48, 27.9, 5, True)
DRY = DrySpell(dt.date(2026, 6, 1), dt.date(2026, 6, 20), 20, 2, 1.0)


# 28 degF, 95 degF and 1.20 in by the definitions of the units.
@pytest.mark.parametrize(
    ("fact", "us", "metric"),
    [
        (FROST, "October 3 is forecast to fall to 28 °F", "3 October is forecast to fall to -2 °C"),
        (HEAT, "July 1 to July 4, the last by the forecast, ", "1 July to 4 July, the last by "),
        (HEAT, "95 °F or more", "35 °C or more"),
        (RAIN, "1.20 in of rain up to July 2 refilled the soil: skip watering until July 8.",
         "30 mm of rain up to 2 July refilled the soil: skip watering until 8 July."),
        (COMING, "About 1.20 in of rain is forecast up to July 2", "look at the gauge"),
        (DRY, "for 20 days (2 of them unknown), since June 1.", "since 1 June."),
    ],
)  # fmt: skip
def test_each_fact_has_a_sentence_in_the_readers_units(fact, us, metric):
    assert us in fact.sentence("us")
    assert metric in fact.sentence("metric")


@pytest.mark.parametrize(
    ("ask", "field"),
    [
        (lambda weather: frost_ahead(weather, threshold_c=60.0), "threshold_c"),
        (lambda weather: heat_run(weather, threshold_c=NAN), "threshold_c"),
        (lambda weather: heat_run(weather, threshold_c=30.0, least_days=0), "least_days"),
        (lambda weather: dry_spell(weather, least_days=0), "least_days"),
        (lambda weather: soaking_rain(weather, store_mm=0.0, need_mm_day=5.0), "store_mm"),
        (lambda weather: soaking_rain(weather, store_mm=9.0, need_mm_day=0.0), "need_mm_day"),
        (lambda weather: soaking_rain(weather, store_mm=9.0, need_mm_day=1.0, already_mm=9.5),
         "already_mm"),
    ],
)  # fmt: skip
def test_absurd_limits_are_refused(ask, field):
    with pytest.raises(InvalidInputError) as refusal:
        ask(make_weather())

    assert refusal.value.field == field


DATES = np.datetime64(FIRST, "D") + np.arange(3)
ZEROS, SEEN = np.zeros(3), np.zeros(3, bool)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"tmin_c": np.zeros(2)}, "tmin_c"),
        ({"is_forecast": np.zeros(4, bool)}, "is_forecast"),
        ({"dates": DATES[::-1]}, "dates"),
        ({"dates": DATES[[0, 0, 1]]}, "dates"),
        ({"is_forecast": np.array([True, False, True])}, "is_forecast"),
    ],
)
def test_days_out_of_order_are_refused(changes, field):
    whole = {"dates": DATES, "tmin_c": ZEROS, "tmax_c": ZEROS, "rain_mm": ZEROS,
             "is_forecast": SEEN}  # fmt: skip

    with pytest.raises(InvalidInputError) as refusal:
        DailyWeather(**{**whole, **changes})

    assert refusal.value.field == field


depths = st.lists(st.sampled_from([0.0, 2.0, 3.0, 20.0, 60.0, NAN]), min_size=15, max_size=15)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(rain=depths, store_mm=st.floats(1, 60), need_mm_day=st.floats(1, 10))
def test_a_soaking_is_always_enough_and_never_past(rain, store_mm, need_mm_day):
    weather = make_weather(rain_mm=dict(enumerate(rain)))

    fact = soaking_rain(weather, store_mm=store_mm, need_mm_day=need_mm_day)

    if fact is None:
        return
    assert fact.effective_mm >= store_mm - 1e-6
    assert fact.is_forecast or fact.resume_date > day(10)
    assert (fact.last_date - fact.first_date).days <= 1
    assert fact.skip_days * need_mm_day <= store_mm + 1e-6
