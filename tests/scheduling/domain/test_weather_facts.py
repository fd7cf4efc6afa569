"""Facts of the weather: frost ahead, heat, dry spell."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.daily_weather import DailyWeather
from scheduling.domain.weather_facts import (
    dry_spell,
    frost_ahead,
    frosts_ahead,
    heat_run,
    hot_threshold_c,
)
from scheduling.domain.weather_words import DrySpell, FrostAhead, HardFrostAhead, HeatRun
from tests.scheduling.domain.made_weather import FIRST, day, make_weather

NAN = math.nan


def test_the_first_forecast_night_at_the_threshold_is_frost():
    weather = make_weather(tmin_c={11: 3.01, 12: 3.0, 13: -1.0})

    assert frost_ahead(weather) == FrostAhead(day(12), 3.0, 3.0, 2)
    assert frost_ahead(weather, threshold_c=0.0) == FrostAhead(day(13), -1.0, 0.0, 1)
    assert frost_ahead(weather, threshold_c=-5.0) is None


def test_frost_that_was_or_is_unknown_is_none_ahead():
    assert frost_ahead(make_weather(tmin_c={3: -5.0, 12: NAN})) is None
    assert frost_ahead(make_weather(ahead=0, tmin_c={3: -5.0})) is None


# The forecast begins with place 10: its seventh day is place 16.
@pytest.mark.parametrize(("place", "is_told"), [(16, True), (17, False), (25, False)])
def test_frost_beyond_a_week_of_forecast_is_not_told(place, is_told):
    weather = make_weather(ahead=16, tmin_c={place: 2.9})

    assert (frost_ahead(weather) is not None) is is_told


@pytest.mark.parametrize(("before", "is_told"), [(15, True), (14, False), (3, False)])
def test_frost_is_told_after_two_weeks_without_only(before, is_told):
    weather = make_weather(seen=20, tmin_c={22 - before: 1.0, 22: 2.0, 23: 2.0})

    assert (frost_ahead(weather) is not None) is is_told


def test_a_winter_of_frost_is_told_once_and_once_more_for_the_first_hard_one():
    nights = np.concatenate([np.full(30, 9.0), np.full(60, 0.0), np.full(60, -4.0)])
    told = []
    for today in range(20, 130):
        seen = dict(enumerate(nights[today - 20 : today + 16]))
        for fact in frosts_ahead(make_weather(seen=20, ahead=16, tmin_c=seen)):
            told.append((fact.code, today - 20 + (fact.first_date - FIRST).days))

    assert set(told) == {("frost-ahead", 30), ("hard-frost-ahead", 90)}
    assert len(told) == 2 * 7  # each while it is within a week


def test_a_first_frost_that_is_hard_stands_alone():
    both = make_weather(tmin_c={11: 1.0, 13: -2.0, 14: -6.0})

    assert frosts_ahead(make_weather(tmin_c={11: -2.0})) == (
        HardFrostAhead(day(11), -2.0, -2.0, 1),
    )
    assert frosts_ahead(both) == (
        FrostAhead(day(11), 1.0, 3.0, 3), HardFrostAhead(day(13), -2.0, -2.0, 2),
    )  # fmt: skip
    assert frosts_ahead(make_weather()) == ()


def test_unknown_nights_do_not_hide_a_frost():
    weather = make_weather(tmin_c={**dict.fromkeys(range(10), NAN), 12: 1.0})

    assert frost_ahead(weather).first_date == day(12)


def test_hot_days_that_reach_into_the_forecast_are_one_run():
    weather = make_weather(tmax_c={8: 35.0, 9: 36.5, 10: 35.0})

    assert heat_run(weather, threshold_c=35.0) == HeatRun(day(8), day(10), 3, 36.5, 35.0, 1)
    assert heat_run(weather, threshold_c=35.1) is None
    assert heat_run(weather, threshold_c=35.0, least_days=4) is None


def test_a_run_that_is_over_is_not_told():
    over = make_weather(tmax_c=dict.fromkeys((5, 6, 7, 8), 35.0))
    on = make_weather(tmax_c=dict.fromkeys((6, 7, 8, 9), 35.0))

    assert heat_run(over, threshold_c=35.0) is None
    assert heat_run(on, threshold_c=35.0) == HeatRun(day(6), day(9), 4, 35.0, 35.0, 0)


def test_heat_beyond_a_week_of_forecast_is_not_told():
    far = make_weather(ahead=16, tmax_c=dict.fromkeys((23, 24, 25), 38.0))
    edge = make_weather(ahead=16, tmax_c=dict.fromkeys(range(14, 20), 38.0))

    assert heat_run(far, threshold_c=35.0) is None
    fact = heat_run(edge, threshold_c=35.0)
    assert (fact.last_date, fact.days, fact.days_forecast) == (day(16), 3, 3)


def test_a_run_is_told_up_to_the_last_known_day_of_a_late_station():
    hot = dict.fromkeys((5, 6, 7), 35.0)
    late = make_weather(tmax_c={**hot, 8: NAN, 9: NAN})
    silent = make_weather(ahead=0, tmax_c={**hot, 8: NAN, 9: NAN})

    fact = HeatRun(day(5), day(7), 3, 35.0, 35.0, 0, days_unknown_after=2)
    assert heat_run(late, threshold_c=35.0) == fact
    assert heat_run(silent, threshold_c=35.0) == fact


@pytest.mark.parametrize(("unknown", "is_told"), [(7, True), (8, False)])
def test_heat_of_which_nothing_is_known_for_a_week_is_not_told(unknown, is_told):
    tmax_c = {place: 35.0 if place < 20 - unknown else NAN for place in range(20)}

    assert (heat_run(make_weather(seen=20, tmax_c=tmax_c), threshold_c=35.0) is not None) is is_told


def test_an_unknown_maximum_ends_a_run():
    weather = make_weather(tmax_c={8: 35.0, 9: NAN, 10: 35.0, 11: 35.0})

    assert heat_run(weather, threshold_c=35.0) is None


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


def test_a_dry_spell_of_a_late_station_ends_with_its_last_known_day():
    weather = make_weather(seen=20, rain_mm={2: 9.0, 6: NAN, 18: NAN, 19: NAN})

    fact = dry_spell(weather)

    assert fact == DrySpell(day(3), day(17), 15, 1, 0.0, days_unknown_after=2)
    assert dry_spell(weather, least_days=16) is None
    assert dry_spell(make_weather(seen=30, rain_mm=dict.fromkeys(range(15, 30), NAN))) is None


def test_the_hottest_days_are_those_of_whole_years():
    maxima = np.arange(2000.0) / 100

    assert hot_threshold_c(maxima) == pytest.approx(np.percentile(maxima, 95))
    assert hot_threshold_c(maxima, percent=90.0) == pytest.approx(np.percentile(maxima, 90))


def test_few_days_do_not_tell_what_is_hot():
    maxima = np.concatenate([np.full(1460, 20.0), np.full(500, NAN)])

    assert hot_threshold_c(maxima) is None
    assert hot_threshold_c(np.append(maxima, 20.0)) == 20.0
    assert hot_threshold_c(np.array([])) is None


FROST = FrostAhead(dt.date(2026, 10, 3), -1.0, 3.0, 1)
FROSTS = FrostAhead(dt.date(2026, 10, 3), -1.0, 3.0, 4)
HARD = HardFrostAhead(dt.date(2026, 10, 3), -2.0, -2.0, 1)
JULY = (dt.date(2026, 7, 1), dt.date(2026, 7, 4), 4, 39.0, 35.0)
HEAT, SEEN_HEAT, COMING_HEAT = HeatRun(*JULY, 3), HeatRun(*JULY, 0, 2), HeatRun(*JULY, 4)
DRY = DrySpell(dt.date(2026, 6, 1), dt.date(2026, 6, 20), 20, 2, 1.0)
LATE_DRY = DrySpell(dt.date(2026, 6, 1), dt.date(2026, 6, 20), 20, 0, 1.0, 1)


# 30 degF, 28 degF and 95 degF by the definition of the unit.
@pytest.mark.parametrize(
    ("fact", "us", "metric"),
    [
        (FROST, "By the forecast October 3 falls to 30 °F: stop the sprinklers before it.",
         "By the forecast 3 October falls to -1 °C"),
        (FROSTS, "30 °F, the first of 4 such nights in a week: stop", "the first of 4"),
        (HARD, "October 3 falls to 28 °F, a hard frost: stop the sprinklers before it, and drain "
         "or insulate what holds water. Blow pipes out with air only below the pressure",
         "with eye protection and nobody over a head; where a licence is asked for"),
        (HEAT, "July 1 to July 4, 3 of them by the forecast, ", "1 July to 4 July, 3 of them by "),
        (HEAT, "95 °F or more: ", "35 °C or more: "),
        (SEEN_HEAT, "July 4, reach 95 °F or more (the last 2 days before today unknown): ",
         "1 July to 4 July, reach "),
        (COMING_HEAT, "July 4, all by the forecast, reach", "all by the forecast"),
        (DRY, "for 20 days (2 of them unknown), since June 1.", "since 1 June."),
        (LATE_DRY, "since June 1 up to June 20 (the last 1 day before today unknown).", "20 June"),
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
        ({"et0_mm": np.zeros(2)}, "et0_mm"),
        ({"is_forecast": np.zeros(4, bool)}, "is_forecast"),
        ({"dates": DATES[::-1]}, "dates"),
        ({"dates": DATES[[0, 0, 1]]}, "dates"),
        ({"is_forecast": np.array([True, False, True])}, "is_forecast"),
    ],
)
def test_days_out_of_order_are_refused(changes, field):
    whole = {"dates": DATES, "tmin_c": ZEROS, "tmax_c": ZEROS, "rain_mm": ZEROS,
             "et0_mm": ZEROS, "is_forecast": SEEN}  # fmt: skip

    with pytest.raises(InvalidInputError) as refusal:
        DailyWeather(**{**whole, **changes})

    assert refusal.value.field == field
