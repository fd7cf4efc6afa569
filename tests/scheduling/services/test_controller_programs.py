"""Fitting and storing what to set on controllers for a whole year."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import RefusedError
from properties.models import Controller, Event, Job, Property, Zone
from scheduling.domain.controller_year import YearStyle
from scheduling.models import ControllerProgram
from scheduling.services import controller_programs
from scheduling.services.controller_programs import ask_for_fit
from scheduling.services.job_kinds import (
    FIT_PROGRAMS_BY_PERCENT,
)
from tests import cast
from tests.properties.rule_rows import make_district, make_rule
from tests.scheduling.program_rows import make_planned, run_fit

pytestmark = pytest.mark.django_db
LATER = cast.NOW + dt.timedelta(days=1)


@pytest.fixture
def planned(visit, zone, station):
    return make_planned(visit, zone)


def settable(row, name="starts"):
    return [[program[name] for program in month["programs"]] for month in row.months]


def test_the_year_can_be_typed_in_and_waters_what_the_plans_ask(planned, zone):
    job = run_fit(planned)

    stored = ControllerProgram.objects.get()
    assert job.state == "done", job.problem
    told = {"controller": str(planned.pk), "id": str(stored.pk), "is_new": True}
    assert job.result == {"fits": [told]}
    assert (stored.number, stored.style) == (1, "days")
    assert [month["month"] for month in stored.months] == list(range(1, 13))
    # Lawn and beds share no program, and the zone without a rate is left out and said.
    assert all(len(each["minutes"]) == 1 for each in stored.programs)
    assert len(stored.inputs["left_out"]) == 1
    assert set(stored.inputs["plans"].values()) == {1}
    (estimated,) = stored.inputs["estimated"]
    assert Zone.objects.get(pk=estimated).name == "Beds"
    for month in stored.months:
        lawn = next(each for each in month["zones"] if each["zone"] == str(zone.pk))
        assert lawn["depth_mm_week"] == pytest.approx(lawn["need_mm_week"], rel=0.15, abs=1)


def test_by_days_the_minutes_stay_and_by_percent_the_days(planned):
    run_fit(planned)
    run_fit(planned, FIT_PROGRAMS_BY_PERCENT)

    by_days, by_percent = ControllerProgram.objects.order_by("number")
    for row in (by_days, by_percent):
        assert len({str(each) for each in settable(row, "minutes")}) == 1
        assert len({str(each) for each in settable(row)}) == 1
    assert {month["percent"] for month in by_days.months} == {100}
    assert len({str(each) for each in settable(by_days, "days")}) > 2
    assert len({month["percent"] for month in by_percent.months}) > 2


def test_the_same_fit_is_the_same_row(planned):
    run_fit(planned)
    again = run_fit(planned, now=LATER)

    assert again.result["fits"][0]["is_new"] is False
    assert ControllerProgram.objects.count() == 1
    assert Event.objects.filter(act="fitted").count() == 1
    assert not Event.objects.filter(act="confirmed").exists()


def test_a_fit_that_says_the_same_of_newer_plans_notes_them_on_the_row(planned, zone):
    run_fit(planned)
    plan = zone.watering_plans.get()
    plan.pk, plan.number, plan._state.adding = None, 2, True
    plan.id = controller_programs.UUID(int=7)
    plan.save(force_insert=True)

    run_fit(planned, now=LATER)

    row = ControllerProgram.objects.get()
    assert row.inputs["plans"][str(zone.pk)] == 2
    assert Event.objects.filter(act="confirmed").count() == 1


def test_killed_before_the_mark_nothing_is_stored(planned, monkeypatch):
    def die(*args, **values):
        raise SystemExit

    monkeypatch.setattr(controller_programs, "add_row", die)
    with pytest.raises(SystemExit):
        run_fit(planned)

    assert not ControllerProgram.objects.exists()


def test_all_fits_of_a_job_share_one_limit_of_time(planned, monkeypatch):
    # In summer other days hold than in winter: two spells of one controller.
    district = make_district()
    make_rule(district, weekdays=[2, 5], from_day="05-01", until_day="09-30")
    Property.objects.update(watering_district=district)
    given = []
    fit_spell = controller_programs.fit_spell

    def spy(spell, style, supply, stop):
        given.append(stop.seconds)
        return fit_spell(spell, style, supply, stop)

    monkeypatch.setattr(controller_programs, "fit_spell", spy)
    monkeypatch.setattr(controller_programs, "TOTAL_S", 3.0)

    run_fit(planned)

    assert given == [1.5, 1.5]


def test_in_every_month_the_rules_of_that_month_hold(planned):
    district = make_district()
    make_rule(
        district, weekdays=[2, 5], hours=["00:00-08:00", "20:00-24:00"],
        from_day="05-01", until_day="09-30",
    )  # fmt: skip
    planned.property.watering_district = district
    planned.property.save()

    run_fit(planned)

    stored = ControllerProgram.objects.get()
    for month in stored.months[4:9]:
        assert month["window_min"] == 12 * 60
        for program in month["programs"]:
            assert set((program["pattern"] or {"weekdays": [2]})["weekdays"]) <= {2, 5}
            assert program["pattern"] is None or program["pattern"]["weekdays"]
            assert all(start < "08:00" or start >= "20:00" for start in program["starts"])
    assert stored.months[0]["window_min"] == 24 * 60
    # Two days a week are too few for a lawn in June: it is named with its loss and its cure.
    assert stored.unmet
    assert all(each["cure"] and each["month"] in range(1, 13) for each in stored.unmet)


def _no_zones(controller):
    Zone.objects.all().update(controller=None)


def _retired(controller):
    Zone.objects.all().update(is_active=False)


def _no_plans(controller):
    Zone.objects.filter(watering_plans__isnull=False).update(controller=None)


def _no_start(controller):
    controller.starts_per_program = 0


@pytest.mark.parametrize(
    ("spoil", "code", "field"),
    [
        (_no_zones, "no-zones", "zones"),
        (_retired, "controller-retired", "zones"),
        (_no_plans, "no-plans-yet", "controller"),
        (_no_start, "no-start", "starts_per_program"),
    ],
)
def test_what_nothing_can_be_fitted_to_is_refused_before_a_job_is_made(
    planned, office, spoil, code, field
):
    spoil(planned)

    with pytest.raises(RefusedError) as refusal:
        ask_for_fit(planned, YearStyle.DAYS, actor=office, now=cast.NOW)

    assert (refusal.value.code, refusal.value.field) == (code, field)
    assert refusal.value.remedy
    assert not Job.objects.exists()


def test_a_property_without_controllers_in_use_is_refused(garden, office):
    Controller.objects.all().delete()

    with pytest.raises(RefusedError, match="no controller"):
        ask_for_fit(garden, YearStyle.DAYS, actor=office, now=cast.NOW)


def test_the_days_are_those_that_the_controller_can_be_set_to(planned):
    Controller.objects.update(can_weekdays=False, interval_days=0, can_odd_even=True)

    assert run_fit(planned).state == "done"

    patterns = [
        program["pattern"]
        for month in ControllerProgram.objects.get().months
        for program in month["programs"]
        if program["minutes"] and program["pattern"]
    ]
    assert patterns
    assert {pattern["parity"] for pattern in patterns} <= {"odd", "even"}
