"""One more look at all zones: asked for cheaply, divided by a job, computed where it differs."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.management import CommandError, call_command

from properties.domain.errors import RefusedError
from properties.models import Company, Job, Zone
from properties.services import jobs
from scheduling.models import (
    NightRun,
    NightSlice,
    PlanMonth,
    WeatherDay,
    WeatherStation,
    ZoneOutlook,
)
from scheduling.services import night_runs
from scheduling.services.night_runs import run_again
from tests import cast
from tests.scheduling.services.night_work import (
    LEASE,
    WorkerDied,
    night,
    outlooks,
    plan_two_zones,
    store_new_plan,
    work,
)
from tests.scheduling.weather_rows import make_forecast

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def planned(company, station, zone):
    return plan_two_zones(zone)


def the_station() -> WeatherStation:
    return WeatherStation.objects.get()


def again() -> NightRun:
    """Let the office ask for one more, and do it."""
    run = run_again(now=cast.NOW)
    work(cast.NOW)
    run.refresh_from_db()
    assert run.state == "done"
    return run


def test_the_request_makes_the_run_and_a_job_and_nothing_else(
    planned, monkeypatch, django_assert_max_num_queries
):
    monkeypatch.setattr(night_runs, "make_plan_months", None)
    monkeypatch.setattr(night_runs, "night_slices", None)

    with django_assert_max_num_queries(10):
        run = run_again(now=cast.NOW)

    assert (run.number, run.state, run.slices) == (2, "open", 0)
    assert not PlanMonth.objects.exists()
    assert list(Job.objects.values_list("kind", "subject_id")) == [("night-again", run.pk)]


def test_a_run_that_is_not_divided_yet_is_under_way(planned):
    run_again(now=cast.NOW)

    with pytest.raises(RefusedError, match="under way"):
        run_again(now=cast.NOW)


def test_what_is_the_same_is_not_computed(planned, monkeypatch):
    night()
    before = outlooks()
    monkeypatch.setattr(night_runs, "night_outlook", None)
    monkeypatch.setattr(night_runs, "night_plans", None)

    run = again()

    assert (run.number, run.slices, outlooks()) == (2, 1, before)
    part = run.parts.get()
    assert (part.zones, part.changed) == (2, 0)


def test_what_was_not_computed_is_known_again(planned, monkeypatch):
    night()
    again()
    NightRun.objects.filter(number=1).delete()
    monkeypatch.setattr(night_runs, "night_outlook", None)

    assert again().parts.get().zones == 2


def rain(zones):
    WeatherDay.objects.create(station=the_station(), date=cast.TODAY - DAY, rain_mm=40.0)


def correct_et0(zones):
    WeatherDay.objects.create(station=the_station(), date=cast.TODAY - 2 * DAY, et0_mm=15.0)


def change_usual_weather(zones):
    WeatherDay.objects.update(et0_mm=15.0)


def forecast(zones):
    make_forecast(the_station(), *[{"et0_mm": 12.0, "rain_mm": 0.0}] * 7)


def leave_room(zones):
    company = Company.objects.get()
    company.leaves_room_for_rain = not company.leaves_room_for_rain
    company.save()


def plan_anew(zones):
    store_new_plan(zones[0])


def stop_using(zones):
    Zone.objects.filter(pk=zones[1].pk).update(is_active=False)


@pytest.mark.parametrize(
    "change", [rain, correct_et0, change_usual_weather, forecast, leave_room, plan_anew]
)
def test_what_differs_is_computed_anew_and_written(planned, change, monkeypatch):
    night()
    computed = []
    look = night_runs.night_outlook
    monkeypatch.setattr(night_runs, "night_outlook", lambda *a: computed.append(a) or look(*a))
    ZoneOutlook.objects.update(percent=1)
    change(planned)

    run = again()

    assert (len(computed), run.parts.get().changed) == (1, 2)
    assert again().parts.get().changed == 0
    assert len(computed) == 1


def test_a_zone_that_is_out_of_use_or_back_is_noticed(planned):
    night()
    stop_using(planned)
    assert [part.zones for part in again().parts.all()] == [1]

    Zone.objects.update(is_active=True)
    assert [part.zones for part in again().parts.all()] == [2]


def test_a_plan_that_comes_between_division_and_look_is_seen_now_or_by_the_next(planned):
    night()
    run_again(now=cast.NOW)
    jobs.run_job(Job.objects.get(kind="night-again").pk, now=cast.NOW)
    Zone.objects.filter(pk=planned[1].pk).update(is_active=False)
    rain(planned)
    work(cast.NOW)
    Zone.objects.filter(pk=planned[1].pk).update(is_active=True)
    ZoneOutlook.objects.filter(zone=planned[1]).update(percent=1)

    run = again()

    assert run.parts.get().changed == 1
    assert not ZoneOutlook.objects.filter(percent=1).exists()


def test_a_division_that_dies_leaves_nothing_and_is_done_anew(planned, monkeypatch):
    def die(*_, **__):
        raise WorkerDied

    run = run_again(now=cast.NOW)
    with monkeypatch.context() as broken:
        broken.setattr(night_runs, "_divide", die)
        with pytest.raises(WorkerDied):
            work(cast.NOW)
    assert not NightSlice.objects.exists()

    work(cast.NOW + LEASE)

    run.refresh_from_db()
    assert (run.state, run.slices) == ("done", 1)


def test_a_run_is_divided_once(planned):
    run = run_again(now=cast.NOW)
    night_runs.read_new_plans(run.pk, cast.NOW)
    for _ in range(2):
        found = night_runs.divide_run(run.pk, cast.NOW)
    work(cast.NOW)
    before = NightSlice.objects.count()

    assert night_runs.divide_run(run.pk, cast.NOW) == found | {"new_plans": 0}
    assert NightSlice.objects.count() == before == 1
    run.refresh_from_db()
    assert run.state == "done"


def test_a_division_that_was_given_up_ends_the_run_as_failed(planned, monkeypatch):
    def break_down(*_, **__):
        raise ZeroDivisionError

    run = run_again(now=cast.NOW)
    with monkeypatch.context() as broken:
        broken.setattr(night_runs, "_divide", break_down)
        night_runs.end_given_up_slices(now=cast.NOW)
        work(cast.NOW)
        assert NightRun.objects.get().state == "open"

    night_runs.end_given_up_slices(now=cast.NOW + 4 * LEASE)

    run.refresh_from_db()
    assert (run.state, run.ended_at) == ("failed", cast.NOW + 4 * LEASE)
    assert again().number == 3


def test_a_division_whose_job_was_lost_is_asked_for_again(planned):
    run = run_again(now=cast.NOW)
    Job.objects.all().delete()

    night_runs.end_given_up_slices(now=cast.NOW)
    work(cast.NOW)

    run.refresh_from_db()
    assert run.state == "done"


@pytest.mark.parametrize("kind", ["night-again", "night-slice", "night-news"])
def test_a_job_whose_night_is_gone_ends_in_words(planned, kind, caplog):
    run_again(now=cast.NOW)
    while not Job.objects.filter(kind=kind).exists():
        for job_id in jobs.due_job_ids(now=cast.NOW):
            jobs.run_job(job_id, now=cast.NOW)
    NightRun.objects.all().delete()

    work(cast.NOW)

    job = Job.objects.get(kind=kind)
    what = "night slice" if kind == "night-slice" else "night run"
    assert (job.state, job.result) == ("done", {"gone": f"The {what} it was for is gone."})
    assert not caplog.records


def test_the_command_asks_for_one(planned, capsys):
    call_command("night")

    run = NightRun.objects.get()
    assert f"run 2 of {run.date} is asked for" in capsys.readouterr().out
    with pytest.raises(CommandError, match="under way"):
        call_command("night")


def test_one_before_the_hour_of_the_night_is_not_the_night_itself(planned):
    early = cast.NOW.replace(hour=6)  # one o'clock in Chicago
    run_again(now=early)
    work(early)

    night_runs.start_night_when_due(now=cast.NOW)

    assert Job.objects.filter(kind="night-start").count() == 1
