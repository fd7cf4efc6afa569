"""Found water tells what is wrong with the setting that gives it."""

from __future__ import annotations

import datetime as dt

import pytest

from tests import cast


@pytest.fixture
def second(controller):
    return cast.make_zone(controller, number=2, name="Back lawn")


def set_program(zone, *, starts=("05:00",), since=cast.TODAY, **changes):
    setting = zone.controller.settings.create(source="found", since=since, **changes, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[1], starts=list(starts))
    program.runs.create(zone=zone, run_min=15)
    return setting


def remarks(api, zone):
    return api.get(f"/api/v1/zones/{zone.pk}/found-water").json()["remarks"]


def test_a_zone_hears_of_its_own_programs_and_of_its_controller(
    technician_api, visit, zone, second
):
    set_program(zone, starts=["05:00", "19:00"], clock_is_right=False)

    front, back = remarks(technician_api, zone), remarks(technician_api, second)

    assert [remark["code"] for remark in front] == ["clock-wrong", "leftover-start"]
    assert [remark["code"] for remark in back] == ["clock-wrong"]
    assert front[1]["zones"] == [str(zone.pk)]
    assert front[1]["programs"] == ["A"]


def test_the_newest_setting_is_the_one_that_is_judged(technician_api, visit, zone):
    set_program(zone, clock_is_right=False)
    set_program(zone, clock_is_right=True, since=cast.TODAY + dt.timedelta(days=1))

    assert remarks(technician_api, zone) == []


def test_without_a_setting_or_a_controller_nothing_is_judged(technician_api, visit, zone):
    assert remarks(technician_api, zone) == []

    zone.controller = None
    zone.save()
    content = technician_api.get(f"/api/v1/zones/{zone.pk}/found-water").json()

    assert (content["remarks"], content["found_weekly_min"]) == ([], None)
