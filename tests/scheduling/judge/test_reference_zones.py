"""Our way of watering on the six reference zones of the published protocol, before the judge.

SOIL-16 (zones, from memory), SOIL-18 and SOIL-19 (limits), SOIL-21 (scores): thirty-day windows
with at least 10 mm of rain and 60 mm of ET0, of ten years (Hyderabad: six) of real weather. What
was found stands beside each floor; `python -m tests.scheduling.judge.report` prints all of it.

The share of windows inside assumes that the dawn watering comes before the rain of its day. A judge
who puts the rain first is met by the forecast alone: its figures stand in a test of their own.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from scheduling.domain.refill import RefillRule
from scheduling.domain.water_scores import LEAST_ADEQUACY, MOST_EXCESS, MOST_MEAN_EXCESS
from tests.scheduling.judge import trial
from tests.scheduling.judge.open_weather import read_series
from tests.scheduling.judge.trial import (
    HELD_OUT,
    SITES,
    Setting,
    drift,
    plan_runs,
    run_trial,
    share,
)

AS_IT_IS = Setting()


@cache
def windows_of(site, setting=AS_IT_IS):
    return run_trial(site, setting)


def pooled(setting, attribute, sites=SITES):
    return share([window for site in sites for window in windows_of(site, setting)], attribute)


def test_the_limits_of_the_trial_are_those_of_the_product():
    assert (trial.LEAST_ADEQUACY, trial.MOST_EXCESS, trial.MOST_MEAN_EXCESS) == (
        LEAST_ADEQUACY,
        MOST_EXCESS,
        MOST_MEAN_EXCESS,
    )


@pytest.mark.parametrize(
    ("site", "windows", "adequate", "inside"),
    # Found: 98.5, 100 and 100 % adequate; 98.5, 100 and 98.0 % within all limits.
    [("champion", 67, 0.95, 0.95), ("cordoba", 92, 0.95, 0.95), ("hyderabad", 49, 0.95, 0.95)],
)
def test_the_six_zones_keep_the_limits_in_nearly_every_window(site, windows, adequate, inside):
    found = windows_of(site)

    assert len(found) == windows
    assert share(found, "is_adequate") >= adequate
    assert share(found, "is_inside") >= inside


def test_sites_that_the_rule_was_not_chosen_on_do_as_well():
    # Found: Tunis 96.6 %, Brussels 100 %.
    assert min(share(windows_of(site), "is_inside") for site in HELD_OUT) >= 0.95


def test_a_calibration_that_is_never_renewed_costs_where_the_climate_moved():
    # Tunis: the line fitted on 1982 to 1991 gives the years after it 4.6 % too little ET0, and 8 to
    # 12 % in autumn. Found: 93.1 % inside, and 96.6 % with a fit a year; elsewhere alike.
    kept = Setting(refitted=False)
    series = read_series("tunis")
    judged = series.years(*trial.TRIAL_YEARS["tunis"]).et0_mm.sum()

    assert share(windows_of("tunis", kept), "is_inside") <= 0.945
    assert pooled(kept, "is_inside") >= 0.95
    assert trial.plan_et0(series, refitted=False).sum() / judged == pytest.approx(0.954, abs=0.005)
    assert 0.96 <= trial.plan_et0(series).sum() / judged <= 1.0


@pytest.mark.parametrize("site", SITES + HELD_OUT)
def test_to_use_less_of_the_store_at_once_does_no_worse_anywhere(site):
    half = Setting(rule=RefillRule(portion=0.5))

    assert share(windows_of(site), "is_inside") >= share(windows_of(site, half), "is_inside")


@pytest.mark.parametrize("site", SITES + HELD_OUT)
def test_each_zone_is_watered_well_in_the_mean(site):
    # Found: mean adequacy of a zone 97.5 to 100 %, mean excess at most 1.1 %.
    verdicts = list(zip(*(window.verdicts for window in windows_of(site)), strict=True))

    assert len(verdicts) == 6
    for zone in verdicts:
        assert np.mean([verdict.adequacy for verdict in zone]) >= 0.95
        assert np.mean([verdict.excess or 0.0 for verdict in zone]) <= 0.02


@pytest.mark.parametrize("seed", [21, 22])
def test_it_does_not_hang_on_one_rain(seed):
    assert pooled(Setting(seed=seed), "is_inside") >= 0.95


def test_it_does_not_hang_on_how_much_of_the_rain_the_judge_counts():
    # Four fifths is from memory. Found when all counts: 97.1 %, and 100 % at the two other sites.
    all_of_it = Setting(rain_share=1.0)

    assert pooled(all_of_it, "is_inside") >= 0.95
    assert pooled(all_of_it, "is_inside", HELD_OUT) >= 0.95


@pytest.mark.parametrize("site", SITES + HELD_OUT)
def test_a_window_that_wants_is_one_whose_weather_the_plan_did_not_know(site):
    # Every one found: ET0 of the plan 6 to 14 % under the judge's, and rain 15 to 19 % over it.
    for window in windows_of(site):
        if not window.is_adequate:
            known = drift(site, AS_IT_IS, window)
            assert known.et0 < 0.97
            assert known.rain > 1.04


@pytest.mark.parametrize(
    ("mutant", "measure", "most"),
    # Found, of 99.5 % adequate and 99.5 % with excess kept: 88.5, 82.7; 52.4, 1.9 %.
    [
        (Setting(by_multiplier=True), "is_adequate", 0.90),
        (Setting(et0_factor=0.85), "is_adequate", 0.85),
        (Setting(et0_factor=1.15), "is_frugal", 0.60),
        (Setting(ignores_rain=True), "is_frugal", 0.05),
    ],
)
def test_a_wrong_way_of_watering_is_seen(mutant, measure, most):
    found = pooled(mutant, measure)

    assert found <= most
    assert found <= pooled(AS_IT_IS, measure) - 0.08
    assert pooled(mutant, "is_inside") <= pooled(AS_IT_IS, "is_inside") - 0.08


@pytest.mark.parametrize("site", SITES)
def test_every_mutant_is_seen_at_every_site(site):
    # The multiplier in place of 1/e shows least where it rains most (Cordoba: 100 to 92.4 %).
    as_it_is = share(windows_of(site), "is_inside")

    for mutant in (
        Setting(by_multiplier=True),
        Setting(et0_factor=0.85),
        Setting(et0_factor=1.15),
        Setting(ignores_rain=True),
    ):
        assert share(windows_of(site, mutant), "is_inside") <= as_it_is - 0.05


def test_a_station_that_can_be_calibrated_is_worth_it():
    # Found: 99.0 % against 85.6 %: Hargreaves runs 11 % low at two sites and 9 % high at one.
    uncalibrated = pooled(Setting(calibrated=False), "is_inside")

    assert 0.78 <= uncalibrated <= pooled(AS_IT_IS, "is_inside") - 0.10


def test_a_judge_who_blames_the_watering_for_the_rain_of_its_day_is_met_by_knowing_it():
    # Such a judge holds that the rain came first. Found: 60.1 % when the plan knows nothing of the
    # day's rain, 90.4 % with a poor forecast of it, 97.1 % where the gauge is read in the morning.
    blind = pooled(Setting(rain_first=True), "is_inside")
    forecast = pooled(Setting(rain_first=True, forecast=True), "is_inside")
    read = pooled(Setting(rain_first=True, morning_reading=True), "is_inside")

    assert blind >= 0.55
    assert forecast >= max(blind + 0.25, 0.88)
    assert read >= 0.94


def test_a_poor_forecast_starves_no_zone():
    # Found: 99.0 % of the windows adequate with it, 99.5 % without.
    forecast = Setting(forecast=True)

    assert pooled(forecast, "is_adequate") >= 0.95
    assert pooled(forecast, "is_inside") >= 0.95


def test_the_watering_is_what_a_controller_and_a_lawn_can_take():
    # Whole minutes, no run under three minutes but a few, never more than the day's limit.
    series = read_series("champion").years(2014, 2018)
    et0 = trial.plan_et0(read_series("champion"))[-len(series.dates) :]

    runs = [run for zone in plan_runs(series, et0, AS_IT_IS) for run in zone if run]

    assert len(runs) > 500
    assert all(run.cycle_min == round(run.cycle_min) for run in runs)
    assert np.mean([run.cycle_min < 3 for run in runs]) < 0.01
    assert max(run.cycles for run in runs) <= 12
