from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.refill import RefillRule
from scheduling.domain.replay import replay
from scheduling.domain.replay_schedules import ReplayCase, ReplayDays, ReplayZone, SetSchedule
from scheduling.domain.running_days import AheadDays, PastDays, mornings
from scheduling.domain.running_start import start_state
from scheduling.domain.usual_weather import WholeDays
from scheduling.domain.year_spans import PlantLife, YearSpan
from scheduling.domain.zone_account import zone_water
from tests.scheduling.domain.zones import FREE, make_zone

FIRST = date(2026, 6, 1)


def days(count=10, et0_mm=5.0, rain_mm=0.0):
    dates = np.datetime64(FIRST, "D") + np.arange(count)
    none = np.zeros(count, dtype=np.bool_)
    return WholeDays(dates, np.full(count, et0_mm), np.full(count, rain_mm), none, none)


def waterings(gross_mm=0.0, runoff_mm=0.0, count=10):
    return DatedWaterings(np.full(count, gross_mm), np.full(count, runoff_mm), np.zeros(count))


# 100 mm per m, 200 mm of roots, half of it readily available: 20 mm held, 10 of them readily.
LAWN = make_zone(
    available_mm_m=100.0, root_depths_mm=(200.0,) * 12, allowed_depletion=0.5,
    plant_factors=(0.8,) * 12, quality_factor=1.0, site_factor=1.0,
)  # fmt: skip


def living(**life):
    return dataclasses.replace(LAWN, life=PlantLife(**life))


def test_a_dry_day_takes_its_need_out_of_the_store():
    # Arithmetic: 5 mm of ET0 x 0.8 are 4 mm; 20 - 4 = 16, 12, 8 ...
    water = zone_water(LAWN, days(), waterings(), net_fraction=0.8)

    assert water.account.need_mm[0, 0] == pytest.approx(4.0)
    assert water.account.stored_mm[:2, 0] == pytest.approx([16.0, 12.0])
    assert water.account.capacity_mm[0, 0] == pytest.approx(20.0)
    assert water.limit_mm[0] == pytest.approx(10.0)


def test_below_the_limit_the_plants_use_less_than_they_need():
    # FAO-56, eq. 84: on the third day 12 mm are there before the need, so no stress; on the fourth
    # 8 of the 10 mm below the limit: Ks 0.8, of 4 mm 3.2 are used.
    water = zone_water(LAWN, days(), waterings(), net_fraction=0.8)

    assert water.account.deficit_mm[:3, 0] == pytest.approx([0.0, 0.0, 0.0])
    assert water.account.deficit_mm[3, 0] == pytest.approx(0.8)


def test_a_watering_comes_in_at_its_net_depth_less_what_ran_off():
    # Arithmetic: a store 4 mm short after a day takes (5 - 1) x 0.8 = 3.2 mm, and 4 mm are used.
    water = zone_water(LAWN, days(), waterings(5.0, runoff_mm=1.0), net_fraction=0.8)

    assert water.account.stored_mm[1, 0] == pytest.approx(20.0 - 4.0 + 3.2 - 4.0)
    assert water.account.uneven_loss_mm[1, 0] == pytest.approx(1.0)


def test_a_new_planting_holds_what_its_roots_reach():
    # Common practice: turf starts at 50 mm. Arithmetic: a quarter of the established store, and it
    # grows by (200 - 50) / 60 mm of roots a day.
    zone = living(planting_date=FIRST)

    water = zone_water(zone, days(), waterings(), net_fraction=0.8)

    assert water.account.capacity_mm[0, 0] == pytest.approx(5.0)
    assert water.account.capacity_mm[1, 0] == pytest.approx(5.0 + 0.1 * 150 / 60)
    assert water.limit_mm[0] == pytest.approx(2.5)


def test_a_small_rain_dries_off_and_a_larger_one_comes_in():
    # FAO-56, chapter 8: below 0.2 ET0 nothing. 0.9 of the rest, here of 10 - 1 mm.
    assert not zone_water(
        LAWN, days(rain_mm=0.9), waterings(), net_fraction=1.0
    ).account.effective_rain_mm.any()
    wet = zone_water(LAWN, days(rain_mm=10.0), waterings(), net_fraction=1.0)
    assert 0 < wet.account.effective_rain_mm[0, 0] < 10.0


# Common practice: turf at rest lives on 12 mm in 28 days. Arithmetic: 5 mm of ET0 x 0.8 awake.
def test_turf_at_rest_takes_the_share_of_a_survival_watering():
    zone = living(dormant=YearSpan("06-03", "06-05"))

    need_mm = zone_water(zone, days(), waterings(), net_fraction=0.8).account.need_mm[:, 0]

    assert need_mm[:6] == pytest.approx([4.0, 4.0, 12 / 28, 12 / 28, 12 / 28, 4.0])


SUMMER = YearSpan("06-10", "06-25")
ZONES = {
    "plain": LAWN,
    "dormant": living(dormant=SUMMER),
    "overseeded": living(overseeded=SUMMER),
    "newly planted": living(planting_date=FIRST - timedelta(days=20)),
    "all at once": living(
        planting_date=FIRST - timedelta(days=50), dormant=SUMMER,
        overseeded=YearSpan("06-20", "07-05"),
    ),
}  # fmt: skip


# Account, running plan and replay each have their own way from a zone to its days.
@pytest.mark.parametrize("name", ZONES)
def test_account_running_plan_and_replay_agree_on_every_day(name):
    zone, weather = ZONES[name], days(40)
    ahead = AheadDays(
        dates=weather.dates, et0_mm=weather.et0_mm, rain_mm=weather.rain_mm,
        rain_probability_percent=np.zeros(40), tmin_c=np.full(40, 15.0),
        is_forecast=~weather.et0_is_usual, is_shut=weather.et0_is_usual,
    )  # fmt: skip
    past = PastDays(
        dates=weather.dates, et0_mm=weather.et0_mm, rain_mm=weather.rain_mm,
        is_usual=weather.is_usual, waterings=waterings(3.0, count=40),
    )  # fmt: skip
    case = ReplayCase(
        ReplayZone(zone_id="zone", facts=zone, efficiency=0.8),
        SetSchedule(programs=()),
    )
    replay_days = ReplayDays(
        dates=weather.dates, et0_mm=weather.et0_mm, rain_mm=weather.rain_mm,
        is_resting=weather.et0_is_usual,
    )  # fmt: skip

    watered = zone_water(zone, weather, waterings(3.0, count=40), net_fraction=0.8)
    dry = zone_water(zone, weather, waterings(count=40), net_fraction=0.8).account
    planned = mornings(zone, FREE, ahead, (), RefillRule())
    start = start_state(zone, past, net_fraction=0.8)
    replayed = replay([case], replay_days).account

    assert [each.need_mm for each in planned] == pytest.approx(watered.account.need_mm[:, 0])
    assert [each.raw_mm + each.reserve_mm for each in planned] == pytest.approx(
        watered.account.capacity_mm[:, 0]
    )
    assert start.stored_mm == pytest.approx(watered.account.stored_mm[-1, 0])
    assert start.limit_mm == pytest.approx(watered.limit_mm[-1])
    assert replayed.need_mm == pytest.approx(dry.need_mm)
    assert replayed.stored_mm == pytest.approx(dry.stored_mm)


month_days = st.dates(date(2026, 5, 1), date(2026, 8, 31))
spans = st.none() | st.builds(
    lambda a, b: YearSpan(f"{a:%m-%d}", f"{b:%m-%d}"), month_days, month_days
)
lives = st.builds(PlantLife, planting_date=st.none() | month_days, dormant=spans, overseeded=spans)
depths = st.lists(st.sampled_from([0.0, 0.5, 6.0, 40.0]), min_size=60, max_size=60).map(np.array)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(life=lives, rain_mm=depths, gross_mm=depths, net_fraction=st.floats(0.3, 1.0))
def test_what_came_in_is_what_left_and_what_is_held(life, rain_mm, gross_mm, net_fraction):
    zone = dataclasses.replace(LAWN, life=life, root_depths_mm=(200.0,) * 6 + (150.0,) * 6)
    weather = dataclasses.replace(days(60), rain_mm=rain_mm)
    put_down = DatedWaterings(gross_mm, gross_mm / 4, gross_mm / 8)

    found = zone_water(zone, weather, put_down, net_fraction=net_fraction).account

    before = np.concatenate((found.start_mm[np.newaxis], found.stored_mm[:-1]))
    came = before + found.effective_rain_mm + found.net_mm
    left = (
        found.used_mm + found.runoff_mm + found.soak_runoff_mm + found.surplus_mm
        + found.out_of_reach_mm
    )  # fmt: skip
    assert np.abs(came - left - found.stored_mm).max() <= 1e-9  # day by day
    assert abs((came - before - left).sum() + found.start_mm[0] - found.stored_mm[-1, 0]) <= 1e-9
    assert (found.stored_mm >= 0).all()
    assert (found.stored_mm <= found.capacity_mm + 1e-9).all()
    assert (found.deficit_mm <= found.need_mm + 1e-9).all()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(life=lives, rain_mm=depths, more_mm=depths)
def test_more_rain_never_makes_the_plants_of_a_lived_zone_want_more(life, rain_mm, more_mm):
    zone = dataclasses.replace(LAWN, life=life)

    less, more = (
        zone_water(
            zone, dataclasses.replace(days(60), rain_mm=mm), waterings(count=60), net_fraction=1.0
        ).account.deficit_mm.sum()
        for mm in (rain_mm, rain_mm + more_mm)
    )

    assert more <= less + 1e-9
