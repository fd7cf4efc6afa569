"""The water account of a stored zone."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import ProgramSetting
from scheduling.selectors.running_plans import PAST_DAYS, zone_running_plan
from scheduling.selectors.water_accounts import account_of_last_days
from tests import cast
from tests.scheduling.weather_rows import YESTERDAY, clear, make_days, make_near_station

pytestmark = pytest.mark.django_db


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN")
    make_days(station, count=1500)
    return station


@pytest.fixture
def tested(visit, zone, main):
    return cast.make_catch_test(visit, zone)


def set_down(zone, since, run_min, weekdays=(0, 3)):
    setting = ProgramSetting.objects.create(
        controller=zone.controller, source="found", since=since, **cast.ROW
    )
    program = setting.programs.create(name="A", weekdays=list(weekdays), starts=["05:00"])
    program.runs.create(zone=zone, run_min=run_min)
    return setting


def account_of(zone, days=14):
    return account_of_last_days(zone, cast.TODAY, days)


def test_each_setting_waters_while_it_holds(zone, tested):
    # 10 June 2026 is a Wednesday: of the 14 days up to the 9th, Monday and Thursday are the 28th,
    # the 1st, the 4th and the 8th. Arithmetic: 6 min at 40 mm/h are 4 mm, 9 min are 6 mm.
    set_down(zone, dt.date(2026, 5, 1), 6)
    set_down(zone, dt.date(2026, 6, 4), 9)

    found = account_of(zone)

    gross = dict(zip(found.days.dates.tolist(), found.water.account.gross_mm[:, 0], strict=True))
    assert {date: mm for date, mm in gross.items() if mm} == {
        dt.date(2026, 5, 28): pytest.approx(4.0), dt.date(2026, 6, 1): pytest.approx(4.0),
        dt.date(2026, 6, 4): pytest.approx(6.0), dt.date(2026, 6, 8): pytest.approx(6.0),
    }  # fmt: skip
    assert found.setting_since == dt.date(2026, 5, 1)


def test_without_a_setting_nothing_is_put_down_and_it_says_so(zone, tested):
    found = account_of(zone)

    assert not found.water.account.gross_mm.any()
    assert found.setting_since is None
    assert set(found.scores.values()) == {None}
    assert found.unscored.code == "no-setting"


def test_days_before_the_first_setting_are_not_scored_as_if_nobody_watered(zone, tested):
    set_down(zone, YESTERDAY - dt.timedelta(days=5), 60, range(7))

    late, whole = account_of(zone, 7), account_of(zone, 6)

    assert set(late.scores.values()) == {None}
    assert late.unscored.code == "setting-began-later"
    assert "2026-06-04" in late.unscored.sentence
    # Six hours a week of 40 mm/h meet any need.
    assert (whole.unscored, whole.scores["adequacy"]) == (None, pytest.approx(1.0))


def test_a_zone_on_a_hose_has_an_account_too(zone, tested):
    zone.controller = None

    assert account_of(zone).setting_since is None


def test_a_day_that_nobody_has_takes_the_usual_need_and_no_rain(zone, tested, main):
    gap = YESTERDAY - dt.timedelta(days=3)
    whole = account_of(zone)
    clear(main, gap)

    found = account_of(zone)

    place = found.days.dates.tolist().index(gap)
    assert (found.days_usual, whole.days_usual) == (1, 0)
    assert found.weather.gaps.days_missing == 1
    assert found.days.rain_mm[place] == 0.0
    # The wave of these days is 4.0 to 4.6 mm, so the usual day lies between.
    assert 4.0 < found.days.et0_mm[place] < 4.6


def test_a_day_whose_rain_nobody_has_is_counted(zone, tested, main):
    set_down(zone, dt.date(2026, 5, 1), 6)
    for age in (2, 3):
        clear(main, YESTERDAY - dt.timedelta(days=age), rain_mm=None)

    found = account_of(zone)

    assert (found.days_rain_unknown, found.days_usual) == (2, 0)
    assert found.days.rain_mm[-3] == 0.0
    assert account_of(zone, 2).days_rain_unknown == 0


def test_three_days_without_weather_are_scored_and_three_in_a_row_are_not(zone, tested, main):
    # SOIL-20: University of Florida, update of the test analysis for the US EPA.
    set_down(zone, dt.date(2026, 5, 1), 6)
    for age in (2, 3, 9):
        clear(main, YESTERDAY - dt.timedelta(days=age))
    before = account_of(zone)
    clear(main, YESTERDAY - dt.timedelta(days=4), et0_mm=None)

    after = account_of(zone)

    assert (before.unscored, after.unscored.code) == (None, "weather-missing")
    assert before.scores["adequacy"] is not None
    assert set(after.scores.values()) == {None}


def test_the_margin_of_the_zone_is_what_gross_loses(zone, tested):
    set_down(zone, dt.date(2026, 5, 1), 6)

    account = account_of(zone).water.account

    # The test has a low-quarter uniformity of 0.75: 1 / (0.4 + 0.6 x 0.75) = 1 / 0.85.
    assert account.uneven_loss_mm.sum() == pytest.approx(account.gross_mm.sum() * 0.15)


def test_a_new_planting_reaches_less(zone, tested):
    before = account_of(zone).water.account.capacity_mm[-1, 0]
    zone.planting_date = YESTERDAY - dt.timedelta(days=30)

    after = account_of(zone).water.account.capacity_mm[-1, 0]

    # Common practice: turf of 150 mm starts at 50 mm and has 100 after 30 of 60 days.
    assert after == pytest.approx(before * 100 / 150)


def test_account_and_running_plan_start_from_the_same_water_of_a_zone_at_rest(zone, tested, main):
    # Common practice: 12 mm in 28 days keep turf at rest alive.
    zone.dormant_from, zone.dormant_until = "06-01", "08-31"
    zone.save()
    set_down(zone, dt.date(2026, 3, 1), 6)
    for age in (3, 30):
        clear(main, YESTERDAY - dt.timedelta(days=age))

    found = account_of(zone, PAST_DAYS)
    start = zone_running_plan(zone, cast.NOW).zones[0].plan.start

    assert found.water.account.need_mm[-1, 0] == pytest.approx(12 / 28)
    assert found.water.account.need_mm[0, 0] > 1.0  # in April it was awake
    assert start.stored_mm == pytest.approx(found.water.account.stored_mm[-1, 0])
    assert found.days_usual == found.days_rain_unknown == 2


def test_more_settings_and_programs_cost_no_more_queries(
    zone, tested, django_assert_max_num_queries
):
    for month in (3, 4, 5):
        set_down(zone, dt.date(2026, month, 1), 6)

    # stations, days; ruling test with its cups; what was mended; settings, programs, runs
    with django_assert_max_num_queries(9):
        account_of(zone)
