from __future__ import annotations

import dataclasses
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.zone_account import AccountDays, zone_water
from tests.scheduling.domain.zones import make_zone

FIRST = date(2026, 6, 1)


def days(count=10, et0_mm=5.0, rain_mm=0.0):
    dates = np.datetime64(FIRST, "D") + np.arange(count)
    return AccountDays(dates, np.full(count, et0_mm), np.full(count, rain_mm))


def waterings(gross_mm=0.0, runoff_mm=0.0, count=10):
    return DatedWaterings(np.full(count, gross_mm), np.full(count, runoff_mm), np.zeros(count))


# 100 mm per m, 200 mm of roots, half of it readily available: 20 mm held, 10 of them readily.
LAWN = make_zone(
    available_mm_m=100.0, root_depths_mm=(200.0,) * 12, allowed_depletion=0.5,
    plant_factors=(0.8,) * 12, quality_factor=1.0, site_factor=1.0,
)  # fmt: skip


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
    water = zone_water(LAWN, days(), waterings(), net_fraction=0.8, planting_date=FIRST)

    assert water.account.capacity_mm[0, 0] == pytest.approx(5.0)
    assert water.account.capacity_mm[1, 0] == pytest.approx(5.0 + 0.1 * 150 / 60)
    assert water.readily_available_mm[0] == pytest.approx(2.5)


def test_a_small_rain_dries_off_and_a_larger_one_comes_in():
    # FAO-56, chapter 8: below 0.2 ET0 nothing. 0.9 of the rest, here of 10 - 1 mm.
    assert not zone_water(
        LAWN, days(rain_mm=0.9), waterings(), net_fraction=1.0
    ).account.effective_rain_mm.any()
    wet = zone_water(LAWN, days(rain_mm=10.0), waterings(), net_fraction=1.0)
    assert 0 < wet.account.effective_rain_mm[0, 0] < 10.0


@given(st.floats(0, 30), st.floats(0, 40), st.floats(0.3, 1.0), st.booleans())
def test_what_came_in_is_what_left_and_what_is_held(gross_mm, rain_mm, net_fraction, is_new):
    zone = dataclasses.replace(LAWN, root_depths_mm=(200.0,) * 6 + (150.0,) * 6)
    found = zone_water(
        zone, days(40, rain_mm=rain_mm), waterings(gross_mm, gross_mm / 4, 40),
        net_fraction=net_fraction, planting_date=FIRST if is_new else None,
    ).account  # fmt: skip

    came = found.effective_rain_mm.sum() + found.net_mm.sum() + found.start_mm.sum()
    left = (
        found.used_mm.sum() + found.runoff_mm.sum() + found.soak_runoff_mm.sum()
        + found.surplus_mm.sum() + found.out_of_reach_mm.sum()
    )  # fmt: skip
    assert came == pytest.approx(left + found.stored_mm[-1].sum(), abs=1e-9)
    assert (found.stored_mm >= 0).all()
