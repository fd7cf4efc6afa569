"""Changes of a zone or its schedule; numbers are arithmetic."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError, RefusedError
from scheduling.domain.replay import replay
from scheduling.domain.replay_schedules import IdealSchedule, ReplayCase
from scheduling.domain.what_if import (
    AddRainSensor,
    ChangeDays,
    ChangeMinutes,
    CutArea,
    MendFaults,
    SetPercents,
    SwapNozzles,
    changed,
)
from tests.scheduling.domain.replay_days import (
    EVERY_DAY,
    make_case,
    make_program,
    make_replay_days,
    make_replay_zone,
)

UNEVEN = make_replay_zone(du_lq=0.5)
FOUND = make_case(make_program(12, weekdays=EVERY_DAY), zone=UNEVEN)
IDEAL = ReplayCase(UNEVEN, IdealSchedule())
WITHOUT_AREA = make_case(make_program(), zone=make_replay_zone(area_m2=None))
RAIN = np.where(np.arange(366) % 10 == 0, 20.0, 0.0)


def litres(case, days=None):
    year = replay([case], days or make_replay_days(rain_mm=RAIN)).years
    return float(year.gross_mm[0, 0]) * case.zone.facts.area_m2


def net_mm(case):
    return float(replay([case], make_replay_days(rain_mm=RAIN)).years.net_mm[0, 0])


def test_mending_shortens_the_runs_by_the_multiplier_and_the_roots_get_as_much():
    # DU 0.5 to 0.75: 1 / 0.7 to 1 / 0.85.
    mended = changed(FOUND, [MendFaults(du_lq=0.75)])

    assert litres(mended) == pytest.approx(litres(FOUND) * 0.7 / 0.85)
    assert net_mm(mended) == pytest.approx(net_mm(FOUND))


def test_mending_without_shortening_gives_the_roots_more():
    mended = changed(FOUND, [MendFaults(du_lq=0.75, shorten_runs=False)])

    assert litres(mended) == pytest.approx(litres(FOUND))
    assert net_mm(mended) == pytest.approx(net_mm(FOUND) * 0.85 / 0.7)


def test_mending_shortens_the_ideal_by_itself():
    mended = changed(IDEAL, [MendFaults(du_lq=0.75)])

    assert litres(mended) == pytest.approx(litres(IDEAL) * 0.7 / 0.85)


def test_mending_by_what_the_repair_lets_expect():
    expecting = ReplayCase(replace(UNEVEN, expected_du_lq=0.75), FOUND.schedule)

    mended = changed(expecting, [MendFaults()])

    assert mended.zone.net_fraction == pytest.approx(0.85)


@pytest.mark.parametrize(
    ("case", "change", "code"),
    [
        (FOUND, MendFaults(), "no-expected-uniformity"),
        (FOUND, MendFaults(du_lq=0.4), "no-better"),
        (IDEAL, ChangeDays(interval_days=3), "nothing-set"),
        (IDEAL, ChangeMinutes(percent=50), "nothing-set"),
        (IDEAL, AddRainSensor(rain_mm=6, days=1), "nothing-set"),
        (IDEAL, SetPercents(seasonal_percent=(100.0,) * 12), "nothing-set"),
        (WITHOUT_AREA, CutArea(cut_percent=5), "no-area"),
    ],
)  # fmt: skip
def test_a_change_that_cannot_be_made_is_refused_with_its_cure(case, change, code):
    with pytest.raises(RefusedError) as refusal:
        changed(case, [change])

    assert refusal.value.code == code
    assert refusal.value.remedy


def test_other_nozzles_change_what_the_same_minutes_give():
    assert litres(changed(FOUND, [SwapNozzles(rate_mm_h=12.0)])) == pytest.approx(
        litres(FOUND) * 12 / 30
    )


def test_less_area_takes_less_water_and_stresses_nobody():
    cut = changed(FOUND, [CutArea(cut_percent=25)])

    assert litres(cut) == pytest.approx(0.75 * litres(FOUND))
    assert net_mm(cut) == pytest.approx(net_mm(FOUND))


def test_other_days_replace_those_of_every_program():
    weekly = changed(FOUND, [ChangeDays(weekdays=frozenset({6}))])
    third = changed(weekly, [ChangeDays(interval_days=3)])

    days = make_replay_days(count=42)
    assert litres(weekly, days) == pytest.approx(litres(FOUND, days) / 7)
    assert litres(third, days) == pytest.approx(litres(FOUND, days) / 3)


def test_changes_add_up_in_their_order():
    both = changed(FOUND, [ChangeMinutes(percent=50), ChangeMinutes(percent=50)])

    assert litres(both) == pytest.approx(litres(FOUND) / 4)


def test_a_sensor_skips_and_a_percentage_scales_its_month():
    # 37 wet days (0, 10 ... 360), each followed by two days that are skipped: 74 of 366.
    sensing = changed(FOUND, [AddRainSensor(rain_mm=6, days=2)])
    summer = changed(FOUND, [SetPercents(seasonal_percent=(0.0,) * 6 + (100.0,) * 6)])

    assert litres(sensing) == pytest.approx(litres(FOUND) * (366 - 74) / 366)
    assert litres(summer) == pytest.approx(litres(FOUND) * 184 / 366)


def test_only_the_zones_that_are_named_change():
    change = ChangeMinutes(percent=50, zone_ids=frozenset({"bed"}))

    assert changed(FOUND, [change]) is FOUND
    assert changed(FOUND, [replace(change, zone_ids=frozenset({"lawn"}))]) != FOUND


@pytest.mark.parametrize(
    ("make", "values", "field"),
    [
        (MendFaults, {"du_lq": 1.2}, "du_lq"),
        (SwapNozzles, {"rate_mm_h": 0.0}, "rate_mm_h"),
        (CutArea, {"cut_percent": 100.0}, "cut_percent"),
        (ChangeDays, {}, "weekdays"),
        (ChangeDays, {"weekdays": frozenset({1}), "interval_days": 2}, "weekdays"),
        (ChangeDays, {"weekdays": frozenset()}, "weekdays"),
        (ChangeDays, {"weekdays": frozenset({7})}, "weekdays"),
        (ChangeDays, {"interval_days": 0}, "interval_days"),
        (ChangeMinutes, {"percent": -1.0}, "percent"),
        (AddRainSensor, {"rain_mm": 6.0, "days": 0}, "days"),
        (SetPercents, {"seasonal_percent": (100.0,) * 11}, "seasonal_percent"),
        (SetPercents, {"seasonal_percent": (100.0,) * 11 + (400.0,)}, "seasonal_percent"),
    ],
)
def test_a_change_beyond_sense_names_its_field(make, values, field):
    with pytest.raises(InvalidInputError) as refusal:
        make(**values)

    assert refusal.value.field == field


def test_minutes_that_outgrow_the_day_are_refused():
    with pytest.raises(InvalidInputError, match="minutes a day"):
        changed(make_case(make_program(200)), [ChangeMinutes(percent=1000)])
