"""The nightly look at all zones: once a date, by any number of workers, whoever dies."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Company, Job
from properties.services import jobs
from scheduling.models import (
    NightRun,
    NightSlice,
    PlanMonth,
    WateringPlan,
    WeatherDay,
    ZoneOutlook,
)
from scheduling.selectors import night_inputs
from scheduling.selectors.night_inputs import SliceBounds, night_plans, night_slices
from scheduling.selectors.night_rules import NightRules
from scheduling.services import night_runs, plan_months
from scheduling.services.plan_months import make_plan_months
from scheduling.services.plans import store_plans
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

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def planned(company, station, zone):
    return plan_two_zones(zone)


def test_a_night_looks_at_each_zone_that_has_a_plan(planned):
    run = night()

    assert (run.date, run.state, run.slices, run.ended_at) == (cast.TODAY, "done", 1, cast.NOW)
    (part,) = NightSlice.objects.all()
    assert (part.state, part.zones, part.changed) == ("done", 2, 2)
    found = ZoneOutlook.objects.get(zone=planned[0])
    plan = WateringPlan.objects.get(zone=planned[0])
    month = plan.months[cast.TODAY.month - 1]
    assert 1 <= found.days_between <= 31
    assert 20 <= found.percent <= 200
    assert cast.TODAY <= found.next_on <= cast.TODAY + 13 * DAY
    months = PlanMonth.objects.get(zone=planned[0], month=cast.TODAY.month)
    assert months.plan == plan
    assert months.raw_mm == month["raw_mm"]
    assert months.need_per_et0 * month["et0_mm_day"] == pytest.approx(month["need_mm_day"])


def test_the_hour_has_to_come_first(planned, company):
    before = dt.datetime(2026, 6, 10, 7, 59, tzinfo=dt.UTC)  # 02:59 in Chicago

    night_runs.start_night_when_due(now=before)
    assert not Job.objects.filter(kind="night-start").exists()

    night_runs.start_night_when_due(now=before + dt.timedelta(minutes=1))
    assert Job.objects.filter(kind="night-start").exists()


def test_without_a_company_there_is_no_night(db):
    night_runs.start_night_when_due(now=cast.NOW)

    assert not Job.objects.exists()


def test_a_second_start_of_the_same_night_does_nothing(planned):
    night()
    before = outlooks(), NightSlice.objects.count(), Job.objects.count()

    for minutes in (1, 300):
        later = cast.NOW + dt.timedelta(minutes=minutes)
        night(later)
        night_runs.start_night(Company.objects.get().pk, later)
        work(later)

    assert (outlooks(), NightSlice.objects.count(), Job.objects.count()) == before
    assert NightRun.objects.count() == 1


def test_two_ticks_ask_for_one_start(planned):
    night_runs.start_night_when_due(now=cast.NOW)
    night_runs.start_night_when_due(now=cast.NOW)

    assert Job.objects.filter(kind="night-start").count() == 1


def test_only_what_changed_is_written(planned, station):
    night()
    WeatherDay.objects.filter(station=station, date__gte=cast.TODAY - 60 * DAY).delete()
    days = [
        WeatherDay(station=station, date=cast.TODAY - n * DAY, et0_mm=5.0, rain_mm=0.0)
        for n in range(-2, 61)
    ]
    WeatherDay.objects.bulk_create(days)
    night(cast.NOW + DAY)
    first = outlooks()

    run = night(cast.NOW + 2 * DAY)

    (part,) = run.parts.all()
    changed = [row for row, old in zip(outlooks(), first, strict=True) if row != old]
    assert (part.zones, part.changed) == (2, len(changed))
    assert all(row["changed_on"] == run.date for row in changed)


def test_a_new_plan_of_a_zone_is_what_counts(planned):
    night()
    zone = planned[0]
    store_new_plan(zone)

    night(cast.NOW + DAY)

    months = PlanMonth.objects.filter(zone=zone)
    assert {month.plan.number for month in months} == {2}
    assert ZoneOutlook.objects.get(zone=zone).days_between >= 4


def test_zones_are_divided_by_station_and_number(planned, monkeypatch, company):
    far = cast.make_station(code="ZZFAR000001")
    make_plan_months()
    PlanMonth.objects.filter(zone=planned[1]).update(station=far)
    assert {(each.station_id, each.first_zone) for each in night_slices(6)} == {
        (far.pk, planned[1].pk), (WateringPlan.objects.first().station_id, planned[0].pk),
    }  # fmt: skip

    PlanMonth.objects.update(station=far)
    monkeypatch.setattr(night_inputs, "SLICE_ZONES", 1)
    assert [(each.first_zone, each.last_zone) for each in night_slices(6)] == [
        (zone, zone) for zone in sorted(each.pk for each in planned)
    ]


@pytest.mark.parametrize("most", [1, 2, 3, 4, 7, 8])
def test_a_slice_has_the_mark_of_what_is_read_of_it(planned, monkeypatch, most):
    for number in range(3, 8):
        cast.make_heads(cast.make_zone(planned[0].controller, number=number, name=f"Bed {number}"))
    store_plans(planned[0].property, actor=None, now=cast.NOW)
    make_plan_months()
    station, far = WateringPlan.objects.first().station, cast.make_station(code="ZZFAR000001")
    others = [plan.zone_id for plan in WateringPlan.objects.order_by("pk")[:3]]
    PlanMonth.objects.filter(zone__in=others).update(station=far)
    monkeypatch.setattr(night_inputs, "SLICE_ZONES", most)

    slices = list(night_slices(6))

    read = [night_plans(each, 6, NightRules(cast.TODAY)) for each in slices]
    assert [each.mark for each in slices] == [plans.mark for plans in read]
    assert all(len(plans.zone_ids) <= most for plans in read)
    found = {far: [], station: []}
    for each, plans in zip(slices, read, strict=True):
        found[far if each.station_id == far.pk else station] += plans.zone_ids
    for at, zones in found.items():
        months = PlanMonth.objects.filter(station=at, month=6).order_by("zone_id")
        assert zones == list(months.values_list("zone_id", flat=True))


def test_a_zone_out_of_use_is_left_out(planned):
    planned[1].is_active = False
    planned[1].save()

    night()

    assert list(ZoneOutlook.objects.values_list("zone", flat=True)) == [planned[0].pk]


@pytest.mark.parametrize("dies_at", ["look", "store", "end"])
def test_a_worker_that_dies_leaves_its_slice_to_the_next(planned, monkeypatch, dies_at):
    def die(*_, **__):
        raise WorkerDied

    with monkeypatch.context() as broken:
        if dies_at == "look":
            broken.setitem(jobs._GATHERS, "night-slice", die)
        elif dies_at == "store":
            broken.setitem(jobs._HANDLERS, "night-slice", die)
        else:
            broken.setattr(night_runs, "_end_run", die)
        with pytest.raises(WorkerDied):
            night()
        assert outlooks() == []
        assert NightRun.objects.get().state == "open"

    work(cast.NOW + LEASE)

    assert NightRun.objects.get().state == "done"
    assert len(outlooks()) == 2


def test_a_start_that_dies_leaves_nothing_and_is_done_anew(planned, monkeypatch):
    def die(*_, **__):
        raise WorkerDied

    with monkeypatch.context() as broken:
        broken.setattr(night_runs, "_divide", die)
        with pytest.raises(WorkerDied):
            night()
    assert not NightRun.objects.exists()

    work(cast.NOW + LEASE)

    assert NightRun.objects.get().state == "done"


def test_a_slice_that_was_given_up_ends_the_night_as_failed_and_says_why(planned, monkeypatch):
    def break_down(*_):
        raise ZeroDivisionError

    monkeypatch.setitem(jobs._GATHERS, "night-slice", break_down)
    night_runs.start_night_when_due(now=cast.NOW)
    for hours in range(4):
        work(cast.NOW + hours * LEASE)
    assert NightRun.objects.get().state == "open"

    night_runs.end_given_up_slices(now=cast.NOW + 4 * LEASE)

    run = NightRun.objects.get()
    (part,) = run.parts.all()
    assert (run.state, part.state, part.problem["code"]) == ("failed", "failed", "broke")
    assert run.ended_at == cast.NOW + 4 * LEASE


def test_a_slice_whose_job_was_lost_is_asked_for_again(planned):
    night_runs.start_night_when_due(now=cast.NOW)
    jobs.run_job(Job.objects.get(kind="night-start").pk, now=cast.NOW)
    Job.objects.filter(kind="night-slice").delete()

    night_runs.end_given_up_slices(now=cast.NOW)
    work(cast.NOW)

    assert NightRun.objects.get().state == "done"


def test_where_forecasts_are_fetched_the_slices_wait_for_them(planned, settings):
    settings.FORECAST_SOURCES = [{"style": "daily_arrays", "address": "https://w.example/"}]
    night_runs.start_night_when_due(now=cast.NOW)
    jobs.run_job(Job.objects.get(kind="night-start").pk, now=cast.NOW)

    assert Job.objects.filter(kind="forecast").count() == 1
    (part,) = Job.objects.filter(kind="night-slice")
    assert part.due_at == cast.NOW + night_runs.FORECASTS_TAKE


def test_a_night_without_any_plan_ends_at_once(company):
    run = night()

    assert (run.state, run.slices) == ("done", 0)


def test_gaps_in_the_weather_are_counted(planned, station):
    WeatherDay.objects.filter(station=station, date__gte=cast.TODAY - 3 * DAY).delete()

    night()

    assert NightSlice.objects.get().days_usual >= 3


def test_few_queries_whatever_the_number_of_zones(planned, django_assert_max_num_queries):
    night()
    part = NightSlice.objects.get()
    NightSlice.objects.update(state="open")

    with django_assert_max_num_queries(18):
        found = night_runs.look_at_slice(part.pk, cast.NOW)

    assert found.zones == 2


def test_a_slice_reads_its_own_station_alone(planned):
    night()
    part = NightSlice.objects.get()
    elsewhere = cast.make_station(code="ZZTEST00002")
    PlanMonth.objects.filter(zone=planned[1]).update(station=elsewhere)

    bounds = SliceBounds(part.station_id, part.first_zone, part.last_zone, part.mark)
    found = night_plans(bounds, cast.TODAY.month, NightRules(cast.TODAY))

    assert found.zone_ids == [planned[0].pk]
    (stored,) = found.stored
    outlook = ZoneOutlook.objects.get(zone=planned[0])
    assert stored == (outlook.days_between, outlook.percent, outlook.next_on)


def test_what_was_read_of_new_plans_stays_when_a_start_dies(planned, monkeypatch):
    monkeypatch.setattr(plan_months, "PLANS_AT_ONCE", 1)
    write, calls = plan_months._write, []

    def die_at_the_second(plans):
        calls.append(plans)
        if len(calls) == 2:
            raise WorkerDied
        write(plans)

    monkeypatch.setattr(plan_months, "_write", die_at_the_second)
    with pytest.raises(WorkerDied):
        night()
    monkeypatch.setattr(plan_months, "_write", write)

    assert PlanMonth.objects.values("zone").distinct().count() == 1
    assert night(cast.NOW + LEASE).slices == 1
    assert ZoneOutlook.objects.count() == 2


def test_a_plan_that_is_not_what_it_should_be_keeps_no_other_zone_from_its_look(planned, caplog):
    WateringPlan.objects.filter(zone=planned[0]).update(inputs={})

    assert night().state == "done"

    assert list(ZoneOutlook.objects.values_list("zone", flat=True)) == [planned[1].pk]
    assert "cannot be looked at by night" in caplog.text
