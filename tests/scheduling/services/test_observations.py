"""Getting what stations observed: yesterday, days that were missed, days that were corrected."""

from __future__ import annotations

import datetime as dt
import gzip

import pytest
from django.db import connection

from properties.models import Job
from properties.services.jobs import ask_for, run_job
from scheduling.models import ObservationFetch, WeatherDay
from scheduling.services import observations
from scheduling.services.job_kinds import OBSERVATIONS
from tests import cast
from tests.scheduling.observed_files import (
    YESTERDAY,
    days_before,
    lines,
    past_arrays,
    stored_days,
    told,
)
from tests.scheduling.services.forecast_server import answer, serving

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
HOUR = dt.timedelta(hours=1)


class WorkerDied(BaseException):
    """Stands for kill -9: no handler of exceptions sees it."""


def asked_days(observe) -> str:
    """Return the days that were asked for last."""
    return observe.asked[-1].split("?")[1].split("&k=")[0]


def test_yesterday_comes_in_with_its_et0(place, observe):
    outcome = observe(told(lines(YESTERDAY)))

    assert (outcome.added, outcome.changed, outcome.code, outcome.problem) == (1, 0, "", "")
    day = WeatherDay.objects.get()
    assert (day.date, day.tmin_c, day.tmax_c, day.rain_mm) == (YESTERDAY, 12.0, 28.0, 1.5)
    assert day.et0_mm > 3
    assert day.analysed_names() == ()
    fetch = ObservationFetch.objects.get()
    assert (fetch.succeeded_at, fetch.failures, fetch.days_added) == (cast.NOW, 0, 1)


def test_the_same_answer_twice_is_once(observe):
    observe(told(lines(*days_before(5))))
    once = stored_days()
    again = observe(told(lines(*days_before(5))), now=cast.NOW + HOUR)

    assert stored_days() == once
    assert (again.added, again.changed, again.corrected) == (0, 0, 0)
    assert ObservationFetch.objects.get().corrections == 0


def test_a_late_correction_of_a_past_day_updates_it_and_is_counted(observe):
    observe(told(lines(*days_before(5))))
    outcome = observe(
        told(lines(*days_before(4), rain=15) + lines(YESTERDAY - 4 * DAY, rain=220)),
        now=cast.NOW + HOUR,
    )

    assert (outcome.added, outcome.changed, outcome.corrected) == (0, 1, 1)
    assert WeatherDay.objects.get(date=YESTERDAY - 4 * DAY).rain_mm == 22.0
    fetch = ObservationFetch.objects.get()
    assert (fetch.days_corrected, fetch.corrections) == (1, 1)


def test_a_value_that_was_lacking_completes_its_day_and_corrects_none(observe):
    observe(told(lines(YESTERDAY).replace(b"TMAX", b"SNOW")))
    outcome = observe(told(lines(YESTERDAY)), now=cast.NOW + HOUR)

    assert (outcome.changed, outcome.corrected) == (1, 0)
    assert WeatherDay.objects.get().tmax_c == 28.0


def test_the_newest_days_are_asked_for_again(observe):
    observe(told(lines(*days_before(60))))
    observe(told(lines(YESTERDAY)))

    assert asked_days(observe) == "from=2026-06-03&to=2026-06-09"
    assert "/ZZTEST00001?" in observe.asked[0]


def test_after_an_outage_all_missed_days_are_asked_for_up_to_a_cap(observe, settings):
    observe(told(lines(*days_before(60))))
    later = cast.NOW + 20 * DAY
    outcome = observe(told(lines(*days_before(20, later.date() - DAY))), now=later)

    assert asked_days(observe) == "from=2026-06-10&to=2026-06-29"
    assert outcome.added == 20

    much_later = cast.NOW + 300 * DAY
    settings.OBSERVATION_MOST_DAYS = 30
    observe(told(lines(much_later.date() - DAY)), now=much_later)
    assert asked_days(observe) == "from=2027-03-07&to=2027-04-05"


def test_a_hole_is_asked_for_though_later_days_are_there(place, observe):
    observe(told(lines(*days_before(60))))
    WeatherDay.objects.filter(date=YESTERDAY - 30 * DAY).delete()

    observe(told(lines(YESTERDAY - 30 * DAY)))

    assert asked_days(observe).startswith("from=2026-05-10&")
    assert WeatherDay.objects.filter(date=YESTERDAY - 30 * DAY).exists()


def test_only_days_that_were_asked_for_are_taken(observe):
    observe(told(lines(*days_before(60))))
    before = stored_days()
    old, today = dt.date(1999, 1, 1), cast.TODAY

    outcome = observe(told(lines(old, today, YESTERDAY)), now=cast.NOW + HOUR)

    assert outcome.is_good
    assert stored_days() == before
    assert outcome.problem == ""


def test_yesterday_is_that_of_the_companys_clock(observe):
    # 03:00 UTC on the 11th is still the evening of the 10th in Chicago.
    night = dt.datetime(2026, 6, 11, 3, tzinfo=dt.UTC)
    outcome = observe(told(lines(YESTERDAY, cast.TODAY)), now=night)

    assert outcome.added == 1
    assert observe(told(lines(YESTERDAY, cast.TODAY)), now=night + 3 * HOUR).added == 1


@pytest.mark.parametrize(
    ("style", "body"),
    [
        (
            "access",
            b'"STATION","DATE","LATITUDE","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES",'
            b'"TMIN","TMIN_ATTRIBUTES"\n'
            b'"ZZTEST00001","2026-06-09","40.4","15",",,7","280",",,7","120",",,7"\n',
        ),
        (
            "dly",
            b"ZZTEST00001202606TMAX" + b"-9999   " * 8 + b"  280  7" + b"-9999   " * 22 + b"\n"
            b"ZZTEST00001202606TMIN" + b"-9999   " * 8 + b"  120  7" + b"-9999   " * 22 + b"\n"
            b"ZZTEST00001202606PRCP" + b"-9999   " * 8 + b"   15  7" + b"-9999   " * 22 + b"\n",
        ),
    ],
)
def test_each_layout_of_station_files_is_read(observe, style, body):
    assert observe(told(body, kind="text/plain"), style=style).added == 1

    day = WeatherDay.objects.get()
    assert (day.date, day.tmin_c, day.tmax_c, day.rain_mm) == (YESTERDAY, 12.0, 28.0, 1.5)


def test_an_ordered_table_is_read_by_the_units_of_its_source(observe):
    body = b"STATION,NAME,DATE,PRCP,TMAX,TMIN\nZZTEST00001,Field,2026-06-09,1.00,86,50\n"

    assert observe(told(body), style="daily-summaries", units="standard").added == 1
    day = WeatherDay.objects.get()
    assert (day.tmin_c, day.tmax_c, day.rain_mm) == (10.0, 30.0, 25.4)


def test_a_packed_file_is_unpacked(observe):
    packed = gzip.compress(lines(YESTERDAY))

    assert observe(told(packed, kind="application/gzip")).added == 1


def test_values_that_failed_a_check_of_the_station_are_left_out_and_told(observe):
    body = lines(YESTERDAY).replace(b"TMAX,280,,,", b"TMAX,280,,X,")

    outcome = observe(told(body))

    assert WeatherDay.objects.get().tmax_c is None
    assert outcome.problem == "Left out (1): failed check X: 1"


def test_the_job_stores_the_days_and_a_failure_is_a_job_done(place, settings):
    for body, code in ((lines(YESTERDAY), ""), (b"<html>", "unknown-layout")):
        with serving(told(body)) as server:
            settings.OBSERVATION_SOURCES = [
                {"style": "by-station", "address": f"http://127.0.0.1:{server.port}/"}
            ]
            job = ask_for(OBSERVATIONS, place.pk, asked_by=None, now=cast.NOW)
            run_job(job.pk, now=cast.NOW)
        job = Job.objects.get(pk=job.pk)
        assert job.state == "done"
        assert bool(job.result["code"]) is bool(code)

    assert WeatherDay.objects.count() == 1


def test_a_worker_that_dies_in_the_middle_leaves_nothing_half_written(place, observe, monkeypatch):
    def die(*args):
        raise WorkerDied

    with monkeypatch.context() as broken:
        broken.setattr(observations, "_succeeded", die)
        with pytest.raises(WorkerDied):
            observe(told(lines(*days_before(5))))
    assert stored_days() == []
    assert not ObservationFetch.objects.exists()

    assert observe(told(lines(*days_before(5)))).added == 5


@pytest.mark.django_db(transaction=True)
def test_the_job_asks_the_source_outside_of_any_transaction(place, settings, monkeypatch):
    seen = []
    ask = observations.fetch_document

    def watched(*args, **kwargs):
        seen.append(connection.in_atomic_block)
        return ask(*args, **kwargs)

    monkeypatch.setattr(observations, "fetch_document", watched)
    with serving(told(lines(YESTERDAY))) as server:
        settings.OBSERVATION_SOURCES = [
            {"style": "by-station", "address": f"http://127.0.0.1:{server.port}/"}
        ]
        job = run_job(ask_for(OBSERVATIONS, place.pk, asked_by=None, now=cast.NOW).pk, now=cast.NOW)

    assert (seen, job.result["days_added"]) == ([False], 1)


def test_an_analysis_stands_in_until_the_stations_own_days_come(place, observe):
    observe(answer(past_arrays(*days_before(3))), style="daily_arrays")
    assert {day.analysed_names() for day in WeatherDay.objects.all()} == {
        ("tmin_c", "tmax_c", "rain_mm")
    }

    outcome = observe(told(lines(YESTERDAY)), now=cast.NOW + HOUR)

    assert (outcome.changed, outcome.corrected) == (1, 0)
    day = WeatherDay.objects.get(date=YESTERDAY)
    assert (day.tmax_c, day.analysed_names()) == (28.0, ())
    assert WeatherDay.objects.get(date=YESTERDAY - DAY).analysed_names() != ()
