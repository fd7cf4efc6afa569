"""Replaying ways of watering; numbers are arithmetic where no source stands beside them."""

from __future__ import annotations

import datetime as dt
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from properties.domain.site import SoilTexture
from scheduling.domain.replay import replay
from scheduling.domain.replay_schedules import IdealSchedule, ReplayCase
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.water_events import cycle_losses
from scheduling.domain.year_spans import PlantLife, YearSpan
from tests.scheduling.domain.replay_days import (
    EVERY_DAY,
    MONDAY,
    make_case,
    make_program,
    make_replay_days,
    make_replay_zone,
)
from tests.scheduling.judge.open_weather import read_series

IDEAL = IdealSchedule()
MODEST = settings(max_examples=25, deadline=None, derandomize=True)
rains = st.lists(st.sampled_from([0.0, 0.0, 0.0, 3.0, 12.0, 45.0]), min_size=120, max_size=120)
minutes = st.floats(0.5, 40.0)


def champion(first, last):
    series = read_series("champion").years(first, last)
    return make_replay_days(
        series.dates[0], len(series.dates), et0_mm=series.et0_mm, rain_mm=series.rain_mm,
        resting_months=(12, 1, 2),
    )  # fmt: skip


def test_the_litres_of_one_month_by_hand():
    # June 2020 begins on a Monday: 5 Mondays, 4 Wednesdays, 4 Fridays are 13 waterings. Each: 2
    # starts x 12 min at 30 mm/h = 12 mm. 13 x 12 mm = 156 mm, on 200 m2 31 200 L.
    case = make_case(make_program(12, starts=("04:00", "06:00")))

    june = replay([case], make_replay_days()).months

    assert june.watering_days[5, 0] == 13
    assert june.gross_mm[5, 0] == pytest.approx(156.0)
    assert june.gross_mm[5, 0] * case.zone.facts.area_m2 == pytest.approx(31_200.0)


def test_turf_at_rest_is_replayed_on_its_survival_watering():
    # Common practice: 12 mm in 28 days; July and August have 62 days. Arithmetic: four tenths of
    # the 15 mm last 14 days at rest.
    life = PlantLife(dormant=YearSpan("07-01", "08-31"))
    awake, resting = (
        ReplayCase(make_replay_zone(**changes), IDEAL) for changes in ({}, {"life": life})
    )

    months = replay([awake, resting], make_replay_days()).months

    assert months.need_mm[6:8, 1].sum() == pytest.approx(62 * 12 / 28)
    assert months.need_mm[:6, 1] == pytest.approx(months.need_mm[:6, 0])
    assert months.watering_days[6:8, 1].sum() <= 5 < months.watering_days[6:8, 0].sum()


def test_uneven_water_is_its_own_loss_by_hand():
    # DU 0.5: multiplier 1 / 0.7, so 0.7 of what is put down counts.
    case = make_case(make_program(), zone=make_replay_zone(du_lq=0.5))

    year = replay([case], make_replay_days()).years

    assert year.net_mm[0, 0] == pytest.approx(0.7 * year.gross_mm[0, 0])
    assert year.uneven_loss_mm[0, 0] == pytest.approx(0.3 * year.gross_mm[0, 0])


def test_a_measured_efficiency_stands_in_for_the_multiplier():
    zone = make_replay_zone(du_lq=0.5)
    case = make_case(
        make_program(), zone=type(zone)(zone_id="lawn", facts=zone.facts, efficiency=0.6)
    )

    year = replay([case], make_replay_days()).years

    assert year.net_mm[0, 0] == pytest.approx(0.6 * year.gross_mm[0, 0])


def test_runoff_is_that_of_the_cycles_as_they_start():
    # Clay takes 2.54 mm/h and bears 5.08 mm: 30 min at 30 mm/h, twice within the hour, run off.
    zone = make_replay_zone(soil_texture=SoilTexture.CLAY)
    case = make_case(make_program(30, starts=("05:00", "06:00"), weekdays=EVERY_DAY), zone=zone)

    year = replay([case], make_replay_days(count=10)).years

    lost = cycle_losses(2, 30.0, 30.0, rate_mm_h=30.0, intake_mm_h=2.54, accumulation_mm=5.08)
    assert float(lost.soak_runoff_mm) > 0
    assert year.runoff_mm[0, 0] == pytest.approx(
        10 * float(lost.runoff_mm + lost.soak_runoff_mm), rel=1e-6
    )
    assert year.excess[0, 0] >= year.runoff_mm[0, 0] / year.net_mm[0, 0]


def test_a_program_by_interval_runs_on_its_anchor_and_as_far_before_it():
    # Every third day with an anchor on 1 June: 31, 28, 25 ... May too.
    case = make_case(make_program(interval_days=3), anchor=MONDAY)

    gross = replay([case], make_replay_days(dt.date(2020, 5, 20), 30)).gross_mm[:, 0]

    ran = [dt.date(2020, 5, 20) + dt.timedelta(days=int(day)) for day in np.flatnonzero(gross)]
    assert ran == [dt.date(2020, 5, 20) + dt.timedelta(days=day) for day in range(0, 30, 3)]
    assert MONDAY in ran


def test_the_seasonal_percentage_goes_by_month():
    percents = (0.0, 50.0, 100.0, 300.0, *(100.0,) * 8)
    case = make_case(make_program(6, weekdays=EVERY_DAY), monthly_percent=percents)

    months = replay([case], make_replay_days()).months

    assert months.gross_mm[:4, 0].tolist() == pytest.approx([0.0, 29 * 1.5, 31 * 3.0, 30 * 9.0])


def test_nothing_runs_and_nobody_suffers_while_plants_rest():
    days = make_replay_days(resting_months=(12, 1, 2))

    for case in (make_case(make_program()), ReplayCase(make_replay_zone(), IDEAL)):
        months = replay([case], days).months
        assert months.gross_mm[[0, 1, 11], 0].tolist() == [0, 0, 0]
        assert months.stress_days[[0, 1, 11], 0].tolist() == [0, 0, 0]
        assert months.deficit_mm[1, 0] > 0
        assert months.gross_mm[6, 0] > 0


def test_a_program_that_never_runs_gives_no_water_and_full_stress():
    # Capacity 30 mm, need 5 mm/d: 30, 25, 20, 15 on four mornings suffice; then stress (eq. 84).
    never = make_case(make_program(0.0))

    year = replay([never], make_replay_days()).years

    assert (year.gross_mm[0, 0], year.watering_days[0, 0]) == (0.0, 0)
    assert year.stress_days[0, 0] == 366 - 4
    assert year.adequacy[0, 0] == pytest.approx(30.0 / (366 * 5.0), rel=1e-6)
    assert np.isnan(year.excess[0, 0])


def test_a_program_that_does_not_name_the_zone_gives_it_nothing():
    other = make_case(make_program(zone_id="bed"))

    assert replay([other], make_replay_days()).years.gross_mm[0, 0] == 0.0


def test_the_ideal_meets_the_need_with_little_loss():
    # Ten real years; the protocol's limits are 0.80 and 0.10 (WaterSense, from memory).
    years = replay([ReplayCase(make_replay_zone(), IDEAL)], champion(2009, 2018)).years

    assert years.gross_mm.shape == (10, 1)
    assert years.adequacy.min() >= 0.95
    assert years.excess.max() <= 0.10


def test_the_store_is_carried_over_the_turn_of_the_year():
    # Dry from 1 January 2021 on, after a year without water: no new year begins full.
    never = make_case(make_program(0.0))

    years = replay([never], make_replay_days(count=366 + 365)).years

    assert years.stress_days[:, 0].tolist() == [362, 365]


def test_those_who_live_through_the_same_are_computed_once():
    zones = [make_replay_zone(number, area_m2=100.0 + number) for number in range(6)]
    cases = [make_case(make_program(12, zone_id=number), zone=zones[number]) for number in range(5)]
    cases.append(make_case(make_program(13, zone_id=5), zone=zones[5]))

    result = replay(cases, make_replay_days())

    assert result.account.gross_mm.shape[1] == 2
    assert len(set(result.years.gross_mm[0, :5])) == 1
    assert result.years.gross_mm[0, 5] == pytest.approx(13 / 12 * result.years.gross_mm[0, 0])


@MODEST
@given(rains, minutes, st.sampled_from([1, 2, 3, 5]), st.sampled_from([0.3, 0.6, 1.0]))
def test_water_is_neither_made_nor_lost(rain, run_min, interval, du_lq):
    days = make_replay_days(MONDAY, 120, rain_mm=rain)
    zone = make_replay_zone(du_lq=du_lq, soil_texture=SoilTexture.CLAY_LOAM)
    cases = [
        make_case(make_program(run_min, interval_days=interval), zone=zone),
        ReplayCase(zone, IDEAL),
    ]

    result = replay(cases, days)

    sums, account = result.months, result.account
    came = (sums.effective_rain_mm + sums.net_mm).sum(axis=0)
    went = (
        sums.need_mm - sums.deficit_mm + sums.runoff_mm + sums.drained_mm + sums.drained_rain_mm
    ).sum(axis=0)
    kept = (account.stored_mm[-1] - account.start_mm)[result.histories.of_zone]
    np.testing.assert_allclose(came, went + kept, atol=1e-6)
    np.testing.assert_allclose(sums.gross_mm, sums.net_mm + sums.uneven_loss_mm, atol=1e-9)


@MODEST
@given(minutes, st.floats(0.1, 3.0))
def test_minutes_scale_what_is_put_down(run_min, factor):
    days = make_replay_days(MONDAY, 60)

    one, other = (
        replay([make_case(make_program(each))], days).years.gross_mm[0, 0]
        for each in (run_min, run_min * factor)
    )

    assert other == pytest.approx(factor * one)


@MODEST
@given(rains, minutes, st.integers(1, 4), st.integers(1, 4))
def test_watering_more_often_as_deep_never_adds_a_day_of_stress(rain, run_min, interval, times):
    days = make_replay_days(MONDAY, 120, et0_mm=6.0, rain_mm=rain)

    seldom, often = (
        replay([make_case(make_program(run_min, interval_days=each))], days)
        for each in (interval * times, interval)
    )

    assert often.years.stress_days[0, 0] <= seldom.years.stress_days[0, 0]
    assert often.years.dry_days[0, 0] <= seldom.years.dry_days[0, 0]
    assert often.years.deficit_mm[0, 0] <= seldom.years.deficit_mm[0, 0] + 1e-9


def test_the_account_is_that_of_simulate():
    # Second route: the same water by hand, through the account alone.
    days = make_replay_days(MONDAY, 28, rain_mm=[0.0] * 9 + [20.0] + [0.0] * 18)
    case = make_case(make_program(20))

    result = replay([case], days).years

    gross = np.array([10.0 if day % 7 in (0, 2, 4) else 0.0 for day in range(28)])
    rain = np.zeros(28)
    rain[9] = 18.0  # nine tenths of a day's rain (rain.DAILY_RAIN_SHARE)
    account = simulate(
        np.full((28, 1), 5.0), rain[:, None], Waterings(gross_mm=gross[:, None]),
        RootZone(storage_mm=15.0, reserve_mm=15.0),
    )  # fmt: skip
    assert result.deficit_mm[0, 0] == pytest.approx(account.deficit_mm.sum())
    assert result.drained_mm[0, 0] == pytest.approx(account.irrigation_overflow_mm.sum())
    assert result.dry_days[0, 0] == (account.stored_mm < 15.0 - 0.01).sum()


def test_no_zone_is_refused():
    with pytest.raises(InvalidInputError, match="Give one") as refusal:
        replay([], make_replay_days())

    assert refusal.value.field == "cases"


def test_forty_zones_under_ten_years_take_seconds(capsys):
    days = champion(2009, 2018)
    zones = [make_replay_zone(at, du_lq=0.4 + at / 100, rate_mm_h=20.0 + at) for at in range(40)]
    cases = [make_case(make_program(12, zone_id=at), zone=zone) for at, zone in enumerate(zones)]
    cases += [ReplayCase(zone, IDEAL) for zone in zones]

    began = time.perf_counter()
    result = replay(cases, days)
    took = time.perf_counter() - began

    with capsys.disabled():
        print(f"\n40 zones x 10 years, found and ideal: {took:.2f} s")
    assert result.account.gross_mm.shape[1] == 80
    assert took < 5.0
