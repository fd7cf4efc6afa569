"""Fitting and storing what to set on a controller."""

from __future__ import annotations

import pytest

from properties.models import Event
from properties.services.jobs import ask_for, run_job
from scheduling.models import ControllerProgram
from scheduling.services import controller_programs
from scheduling.services.job_kinds import FIT_PROGRAMS
from tests import cast
from tests.properties.rule_rows import make_district, make_rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def planned(visit, zone, controller, station):
    cast.make_catch_test(visit, zone)
    drip = cast.make_zone(
        controller, number=2, name="Beds", head_kind="drip", plant_type="annual_flowers"
    )
    cast.make_heads(
        drip, count=300, rated_flow_l_min=2 / 60, emitter_spacing_m=0.5, lateral_spacing_m=0.5
    )
    cast.make_zone(controller, number=3, name="Unknown")
    return controller


def run(controller, now=cast.NOW):
    job = ask_for(FIT_PROGRAMS, controller.pk, asked_by=None, now=now)
    return run_job(job.pk, now=now)


def test_the_programs_can_be_typed_in_and_water_what_the_plan_asks(planned, zone):
    job = run(planned)

    stored = ControllerProgram.objects.get()
    assert (job.state, job.result) == ("done", {"id": str(stored.pk), "is_new": True})
    assert (stored.number, stored.month) == (1, 6)
    assert {"name", "days", "starts", "minutes"} == set(stored.programs[0])
    minutes = {run["zone"]: run["run_min"] for each in stored.programs for run in each["minutes"]}
    assert str(zone.pk) in minutes
    # Lawn and beds share no program, and the zone without a rate is left out and said.
    assert all(len(each["minutes"]) == 1 for each in stored.programs)
    assert len(stored.inputs["left_out"]) == 1
    lawn = next(each for each in stored.inputs["zones"] if each["zone_id"] == str(zone.pk))
    assert lawn["depth_mm_week"] == pytest.approx(lawn["need_mm_week"], rel=0.15)


def test_the_same_fit_is_the_same_row(planned):
    run(planned)
    again = run(planned)

    assert again.result["is_new"] is False
    assert ControllerProgram.objects.count() == 1
    assert Event.objects.filter(act="fitted").count() == 1


def test_killed_before_the_mark_nothing_is_stored(planned, monkeypatch):
    def die(*args, **values):
        raise SystemExit

    monkeypatch.setattr(controller_programs, "add_row", die)
    with pytest.raises(SystemExit):
        run(planned)

    assert not ControllerProgram.objects.exists()


def test_local_rules_bind_days_and_hours(planned):
    district = make_district()
    make_rule(district, weekdays=[2, 5], hours=["00:00-08:00", "20:00-24:00"])
    planned.property.watering_district = district
    planned.property.save()

    run(planned)

    stored = ControllerProgram.objects.get()
    assert {each["days"] for each in stored.programs} <= {
        "Wednesday", "Saturday", "Wednesday, Saturday",
    }  # fmt: skip
    starts = [start for each in stored.programs for start in each["starts"]]
    assert all(start < "08:00" or start >= "20:00" for start in starts)
    # Two days a week are too few for a lawn in June: it is named with its cure.
    assert stored.unmet
    assert all(each["cure"] for each in stored.unmet)


def test_a_controller_without_planned_zones_parks_with_the_remedy(controller, station):
    job = run(controller)

    assert (job.state, job.problem["code"]) == ("parked", "no-zone-planned")
    assert job.problem["remedy"]
