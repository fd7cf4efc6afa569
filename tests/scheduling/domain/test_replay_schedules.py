"""Schedules of replays: what is refused, and when a rain sensor lets a program run."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.program_waterings import dated_program
from scheduling.domain.replay_schedules import (
    RainSkip,
    ReplayCase,
    ReplayDays,
    ReplayZone,
    SetSchedule,
    set_waterings,
)
from scheduling.domain.replay_totals import (
    PickedYears,
    Totals,
    period_starts,
    pick_years,
    zones_together,
)
from tests.scheduling.domain.replay_days import (
    EVERY_DAY,
    MONDAY,
    make_case,
    make_program,
    make_replay_days,
    make_replay_zone,
    make_set,
)


def test_a_sensor_holds_back_the_days_after_a_rain_and_not_its_own():
    rain = np.array([0.0, 6.0, 0.0, 0.0, 5.9, 0.0, 7.0, 8.0, 0.0, 0.0])

    may_run = RainSkip(rain_mm=6.0, days=2).may_run(rain)

    assert may_run.tolist() == [
        True, True, False, False, True, True, True, False, False, False,
    ]  # fmt: skip


def test_a_skipped_day_gets_nothing_and_loses_nothing():
    days = make_replay_days(MONDAY, 4, rain_mm=[0.0, 10.0, 0.0, 0.0])
    program = make_program(60, starts=("04:00", "05:00"), weekdays=EVERY_DAY)
    skipping = make_set(program, rain_skip=RainSkip(rain_mm=6.0, days=1))

    held = set_waterings(make_replay_zone(), skipping, days)

    assert held.gross_mm.tolist() == [60, 60, 0, 60]
    assert (held.runoff_mm[2], held.soak_runoff_mm[2]) == (0, 0)
    assert held.runoff_mm[3] > 0


@pytest.mark.parametrize(("rain_mm", "days"), [(0.0, 1), (300.0, 1), (6.0, 0), (6.0, 40)])
def test_a_sensor_beyond_sense_is_refused(rain_mm, days):
    with pytest.raises(InvalidInputError, match="cannot be"):
        RainSkip(rain_mm=rain_mm, days=days)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"monthly_percent": (100.0,) * 11}, "seasonal_percent"),
        ({"monthly_percent": (100.0,) * 11 + (301.0,)}, "seasonal_percent"),
        ({"minutes_factor": 11.0}, "minutes_factor"),
        ({"minutes_factor": float("nan")}, "minutes_factor"),
    ],
)
def test_a_schedule_beyond_sense_is_refused(changes, field):
    with pytest.raises(InvalidInputError) as refusal:
        make_set(make_program(), **changes)

    assert refusal.value.field == field


@pytest.mark.parametrize(
    ("program", "changes"),
    [
        (make_program(721, starts=("04:00", "16:00")), {}),  # 1442 minutes
        (make_program(500), {"monthly_percent": (100.0,) * 11 + (300.0,)}),
        (make_program(1440), {"zone": make_replay_zone(rate_mm_h=50.0)}),  # 1200 mm
    ],
)
def test_more_than_a_day_a_day_is_refused_with_the_numbers(program, changes):
    with pytest.raises(InvalidInputError, match="minutes a day and get") as refusal:
        make_case(program, **changes)

    assert (refusal.value.field, refusal.value.code) == ("run_min", "over-a-day")


def test_programs_of_different_months_do_not_add_up_to_one_day():
    # 840 min at 50 mm/h are 700 mm: in January and in July that is borne, twice in July it is not.
    zone = make_replay_zone(rate_mm_h=50.0)
    january, july = (
        replace(dated_program(make_program(840), MONDAY), months=frozenset({month}))
        for month in (1, 7)
    )

    assert ReplayCase(zone, SetSchedule(programs=(january, july)))
    with pytest.raises(InvalidInputError, match="minutes a day and get 1400 mm"):
        ReplayCase(zone, SetSchedule(programs=(july, july)))


def test_zones_together_weigh_scores_by_water_and_leave_out_those_without():
    # 100 and 300 m2. Need 10 mm each: 1000 and 3000 L, adequacy (1 + 3 x 0.5) / 4 = 0.625. Only the
    # first zone got water, 5 mm: 500 L, so its excess is that of both.
    def of(*zones):
        return np.array([zones], dtype=float)

    zero = of(0, 0)
    values = dict.fromkeys(Totals.__dataclass_fields__, zero)
    values |= {
        "need_mm": of(10, 10), "gross_mm": of(8, 0), "net_mm": of(5, 0), "runoff_mm": of(1, 0),
        "drained_mm": of(2, 0), "stress_days": of(3, 9), "dry_days": of(4, 10),
        "adequacy": of(1.0, 0.5), "excess": of(0.6, np.nan),
    }  # fmt: skip

    found = zones_together(Totals(**values), np.array([100.0, 300.0]))

    told = {name: each.tolist() for name, each in vars(found).items()}
    assert told == {
        "litres": [800], "runoff_l": [100], "drained_l": [200], "stress_days": [6],
        "dry_days": [7], "adequacy": [0.625], "excess": [pytest.approx(0.6)],
    }  # fmt: skip
    without = zones_together(Totals(**{**values, "net_mm": zero, "excess": of(np.nan, np.nan)}),
                             np.array([100.0, 300.0]))  # fmt: skip
    assert np.isnan(without.excess[0])


def test_a_whole_day_is_no_more_than_a_day():
    assert make_case(make_program(720, starts=("04:00", "16:00"))).schedule.programs


def test_an_efficiency_out_of_range_is_refused():
    with pytest.raises(InvalidInputError, match="efficiency cannot be"):
        assert ReplayZone(zone_id=1, facts=make_replay_zone().facts, efficiency=1.2).net_fraction


def test_days_with_a_hole_or_of_other_length_are_refused():
    days = make_replay_days(count=5)
    with pytest.raises(InvalidInputError, match="do not follow"):
        ReplayDays(
            dates=days.dates[[0, 1, 3, 4]], et0_mm=days.et0_mm[:4], rain_mm=days.rain_mm[:4],
            is_resting=days.is_resting[:4],
        )  # fmt: skip
    with pytest.raises(InvalidInputError, match="4 values for 5 days"):
        ReplayDays(
            dates=days.dates, et0_mm=days.et0_mm, rain_mm=days.rain_mm[:4],
            is_resting=days.is_resting,
        )  # fmt: skip


def test_periods_begin_with_the_first_day_and_each_new_year_or_month():
    dates = np.datetime64(dt.date(2019, 12, 30)) + np.arange(40)

    assert period_starts(dates, "Y").tolist() == [0, 2]
    assert period_starts(dates, "M").tolist() == [0, 2, 33]


@pytest.mark.parametrize(
    ("wanted", "picked"),
    [
        ([500.0, 300.0, 700.0, 400.0, 600.0], PickedYears(dry=2003, median=2001, wet=2002)),
        ([500.0, 300.0, 700.0, 400.0], PickedYears(dry=2003, median=2001, wet=2002)),
        ([500.0], PickedYears(dry=2001, median=2001, wet=2001)),
        ([500.0, 500.0], PickedYears(dry=2002, median=2002, wet=2001)),
    ],
)
def test_dry_median_and_wet_go_by_what_rain_leaves_to_water(wanted, picked):
    years = np.arange(2001, 2001 + len(wanted))

    assert pick_years(years, np.array(wanted)) == picked


def test_no_year_cannot_be_picked_from():
    with pytest.raises(InvalidInputError):
        pick_years(np.array([], dtype=int), np.array([]))
