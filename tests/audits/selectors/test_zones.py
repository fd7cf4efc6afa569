"""The test that rules a zone, and the minutes that its controller runs it."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import ProgramSetting, SettingProgram, SettingRun
from audits.selectors.zones import ruling_tests, running_minutes
from tests import cast


def test_the_newest_valid_test_of_each_zone_rules(visit, zone, controller):
    second, untested = (cast.make_zone(controller, number=number) for number in (2, 3))
    hour = dt.timedelta(hours=1)
    cast.make_catch_test(visit, zone, taken_at=cast.NOW - 3 * hour)
    newest = cast.make_catch_test(visit, zone, taken_at=cast.NOW - hour)
    cast.make_catch_test(visit, zone, taken_at=cast.NOW - 2 * hour)
    cast.make_catch_test(visit, zone, taken_at=cast.NOW, before_mending=True)
    other = cast.make_catch_test(visit, second)

    found = ruling_tests([zone.pk, second.pk, untested.pk])

    assert found == {zone.pk: newest, second.pk: other}


def test_only_a_test_before_mending_rules_nothing(visit, zone):
    cast.make_catch_test(visit, zone, before_mending=True)

    assert ruling_tests([zone.pk]) == {}


def test_of_two_tests_of_one_moment_the_later_row_rules(visit, zone):
    first, second = (cast.make_catch_test(visit, zone) for _ in range(2))

    assert ruling_tests([zone.pk])[zone.pk].pk == max(first.pk, second.pk)


def test_a_pooled_test_rules_as_well(visit, zone):
    cast.make_catch_test(visit, zone, taken_at=cast.NOW - dt.timedelta(days=1))
    pooled = cast.make_catch_test(visit, zone, is_pooled=True, du_lq=None)

    assert ruling_tests([zone.pk]) == {zone.pk: pooled}


def test_ruling_tests_ask_twice_however_many_zones(visit, controller, django_assert_num_queries):
    zones = [cast.make_zone(controller, number=number) for number in range(1, 6)]
    for zone in zones:
        cast.make_catch_test(visit, zone)

    with django_assert_num_queries(2):
        found = ruling_tests([zone.pk for zone in zones])
        assert {len(test.readings.all()) for test in found.values()} == {12}


def set_program(controller, *programs, since=cast.TODAY, percent=100):
    setting = ProgramSetting.objects.create(
        controller=controller, source="found", since=since, seasonal_percent=percent, **cast.ROW
    )
    for name, (days, starts, runs) in zip("ABC", programs, strict=False):
        by = {"interval_days": days} if isinstance(days, int) else {"weekdays": days}
        program = SettingProgram.objects.create(setting=setting, name=name, starts=starts, **by)
        for zone, run_min in runs:
            SettingRun.objects.create(program=program, zone=zone, run_min=run_min)
    return setting


# Arithmetic: A 4 days x 1 start x 18 min, B every second day (3.5 a week) x 2 starts x 10 min,
# C 1 day x 1 start x 12 min.
@pytest.mark.parametrize(("percent", "share"), [(100, 1), (120, 1.2), (50, 0.5), (0, 0)])
def test_weekly_minutes_count_every_program_start_and_the_percentage(controller, percent, share):
    first, second, third = (cast.make_zone(controller, number=n) for n in (1, 2, 3))
    set_program(
        controller,
        ([0, 2, 4, 6], ["05:00"], [(first, 18)]),
        (2, ["04:00", "17:30"], [(first, 10), (second, 15)]),
        ([6], ["06:30"], [(first, 12)]),
        percent=percent,
    )

    found = running_minutes([first, second, third])

    assert found == {
        first.pk: pytest.approx((72 + 70 + 12) * share),
        second.pk: pytest.approx(105 * share),
        third.pk: 0,
    }


def test_the_newest_setting_runs(controller):
    zone = cast.make_zone(controller)
    day = dt.timedelta(days=1)
    set_program(controller, ([0], ["05:00"], [(zone, 5)]), since=cast.TODAY - day)
    set_program(controller, ([0], ["05:00"], [(zone, 7)]), since=cast.TODAY)
    set_program(controller, ([0], ["05:00"], [(zone, 9)]), since=cast.TODAY - 2 * day)

    assert running_minutes([zone]) == {zone.pk: 7}


def test_zones_without_controller_or_setting_are_unknown_not_zero(controller, garden):
    by_hand = cast.make_zone(controller, number=9)
    by_hand.controller = None
    by_hand.save()

    assert running_minutes([cast.make_zone(controller), by_hand]) == {}


def test_each_controller_has_its_own_setting(controller, garden):
    shed = cast.make_controller(garden, name="Shed")
    here, there = cast.make_zone(controller), cast.make_zone(shed)
    set_program(controller, ([0], ["05:00"], [(here, 5)]))
    set_program(shed, ([0, 3], ["05:00"], [(there, 6)]))

    assert running_minutes([here, there]) == {here.pk: 5, there.pk: 12}
