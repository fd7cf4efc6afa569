"""Keeping station files that are sent in, and the job that reads them."""

from __future__ import annotations

import gzip
from io import BytesIO

import pytest
from django.db import connection

from properties.domain.errors import InvalidInputError
from properties.models import Event, Job, JobState
from properties.services.jobs import due_job_ids, run_job
from scheduling.domain.station_values import Layout
from scheduling.models import WeatherDay, WeatherFile, WeatherStation
from scheduling.models.weather_files import WeatherFilePart
from scheduling.services import weather_files
from scheduling.services.weather_files import keep_weather_file, read_weather_file
from tests import cast

CODE = "ZZTEST00001"
GOOD = "".join(
    f"{CODE},202106{day:02},{word},,,7,0700\n"
    for day in (10, 11, 14)
    for word in ("TMIN,200", "TMAX,300", "PRCP,12", "SNOW,0")
)
STRANGER = "ZZTEST00009,20210610,PRCP,1,,,7,\n"


@pytest.fixture
def bare(company):
    return cast.make_station()


@pytest.fixture
def keep(office):
    def keep(text, name="days.csv", layout=None, units=None):
        content = text.encode() if isinstance(text, str) else text
        return keep_weather_file(
            BytesIO(content), name=name, layout=layout, units=units, actor=office, now=cast.NOW
        )

    return keep


def stored(file):
    return b"".join(bytes(part.content) for part in file.parts.all())


def done(job):
    run_job(job.pk, now=cast.NOW)
    job.refresh_from_db()
    return job


def everything():
    """Return all rows that an import may touch, but the jobs."""
    return [
        list(model.objects.order_by("pk").values())
        for model in (WeatherDay, WeatherFile, WeatherFilePart, WeatherStation, Event)
    ]


def test_a_file_is_kept_and_its_job_stores_the_days_and_drops_the_bytes(bare, keep):
    content = gzip.compress(GOOD.encode())
    file, job = keep(content, name="days.csv.gz")
    assert (stored(file), file.size_bytes, file.read_at) == (content, len(content), None)

    job = done(job)

    file.refresh_from_db()
    assert (job.state, job.kind, job.subject_id) == (JobState.DONE, "weather_file", file.pk)
    assert (stored(file), file.read_at) == (b"", cast.NOW)
    assert job.result == {
        "lines": 12, "lines_passed_over": 3, "values": 9, "values_missing": 0,
        "values_repeated": 0, "multiday_totals": 0, "days_added": 3, "days_changed": 0,
        "days_unchanged": 0, "days_contradicting": 0, "lines_refused": 0, "stations_unknown": 0,
        "values_of_unknown_stations": 0,
    }  # fmt: skip
    assert WeatherDay.objects.filter(et0_mm__gt=0, rain_mm=1.2).count() == 3


def test_the_report_tells_lines_gaps_flags_and_strangers(bare, keep):
    text = GOOD + STRANGER * 2 + f"{CODE},20210620,PRCP,1,,G,7,\n" + "nonsense,\n" * 130
    file, job = keep(text)

    done(job)

    file.refresh_from_db()
    report = file.report
    assert report["lines_refused"] == 130
    assert len(report["refused"]) == 100
    assert report["refused"][0] == {
        "line_number": 16, "field": "line", "detail": "The line has 2 fields where 8 belong.",
        "remedy": "Take the line from the original file.", "excerpt": "nonsense,",
    }  # fmt: skip
    assert report["stations"] == [{
        "station_code": CODE, "first_date": "2021-06-10", "last_date": "2021-06-14", "days": 3,
        "days_missing": 2, "longest_gap_days": 2,
    }]  # fmt: skip
    assert (report["dropped_by_flag"], report["unknown"]) == ({"G": 1}, {"ZZTEST00009": 2})
    assert (report["stations_unknown"], report["values_of_unknown_stations"]) == (1, 2)


def test_each_step_is_remembered(bare, keep, office):
    file, job = keep(GOOD)
    done(job)

    events = {event.act: event for event in Event.objects.filter(subject_id=file.pk)}
    assert events.keys() == {"sent", "read"}
    assert (events["sent"].actor, events["read"].actor) == (office, None)
    assert events["sent"].after["size_bytes"] == len(GOOD)


def test_the_handler_run_twice_is_as_run_once(bare, keep):
    file, job = keep(GOOD)
    done(job)
    before = everything()

    again = read_weather_file(file.pk, cast.NOW)

    assert again["days_added"] == 3
    assert everything() == before


@pytest.mark.django_db(transaction=True)
def test_a_worker_killed_in_the_middle_leaves_all_as_it_was(bare, keep, monkeypatch):
    _, job = keep(GOOD)
    before = everything()

    def die(*args):
        assert WeatherDay.objects.count() == 3
        raise KeyboardInterrupt

    monkeypatch.setattr(weather_files, "told", die)
    with pytest.raises(KeyboardInterrupt):
        run_job(job.pk, now=cast.NOW)
    assert everything() == before

    monkeypatch.undo()
    later = job.created_at.replace(hour=23)
    (due,) = due_job_ids(now=later)
    run_job(due, now=later)
    assert WeatherDay.objects.count() == 3


def test_the_same_bytes_are_the_same_row_and_one_job(bare, keep):
    first, job = keep(GOOD)
    assert keep(GOOD, name="other.csv") == (first, job)
    done(job)
    before = everything()

    again, no_job = keep(GOOD)

    assert (again, no_job) == (first, None)
    assert everything() == before
    assert Job.objects.count() == 1


def test_other_units_are_another_file(bare, keep):
    text = "STATION,NAME,DATE,TMAX\n" + f"{CODE},X,2021-06-10,50\n"

    metric, _ = keep(text, units="metric")
    standard, job = keep(text, units="standard")

    assert metric.pk != standard.pk
    done(job)
    assert WeatherDay.objects.get().tmax_c == 10.0  # 50 degF, arithmetic


def test_a_file_of_strangers_is_refused_and_read_again_when_they_are_known(company, keep):
    file, job = keep(STRANGER)
    assert done(job).state == JobState.DONE
    file.refresh_from_db()
    assert (job.result["refusal"]["code"], stored(file)) == ("unknown-station", b"")
    assert "Register the station" in file.report["refusal"]["remedy"]
    cast.make_station(code="ZZTEST00009")

    same, job = keep(STRANGER)
    done(job)

    file.refresh_from_db()
    assert same == file
    assert (file.report["days_added"], WeatherDay.objects.count()) == (1, 1)


def test_a_file_with_some_strangers_is_read_again_and_changes_what_is_new_alone(bare, keep):
    text = GOOD + STRANGER
    done(keep(text)[1])
    days = list(WeatherDay.objects.order_by("pk").values())
    cast.make_station(code="ZZTEST00009")

    file, job = keep(text)
    done(job)

    file.refresh_from_db()
    assert (file.report["days_added"], file.report["days_unchanged"]) == (1, 3)
    assert list(WeatherDay.objects.order_by("pk").values())[:3] == days


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (gzip.compress(GOOD.encode() * 20_000)[:-20], "cut-short"),
        (GOOD.encode() + b"x" * 100 + b"\n" + GOOD.encode() * 10_000 + b"\x00\n", "not-text"),
    ],
)
def test_what_shows_late_to_be_no_file_stores_nothing(bare, keep, monkeypatch, content, code):
    monkeypatch.setattr(weather_files, "_check_beginning", lambda *_: None)
    file, job = keep(content)

    done(job)

    file.refresh_from_db()
    assert file.report["refusal"]["code"] == code
    assert stored(file) == b""
    assert not WeatherDay.objects.exists()


@pytest.mark.parametrize(
    ("text", "options", "field", "code"),
    [
        ("", {}, "file", "empty-file"),
        ("hello\n", {}, "layout", "unknown-layout"),
        (GOOD, {"name": "days.gz"}, "file", "not-gzip"),
        (GOOD, {"units": "metric"}, "units", "units-not-wanted"),
        ("STATION,NAME,DATE,TMAX\n", {}, "units", "units-needed"),
        ("STATION,NAME,TMAX\n", {"layout": Layout.ACCESS}, "header", "wrong-header"),
        (b"\xff\xfeZ\x00", {}, "file", "wide-text"),
        (b"\x1f\x8bxxxxxxxxxxx", {}, "file", "damaged-gzip"),
    ],
)
def test_what_begins_like_no_station_file_is_refused_at_once(keep, text, options, field, code):
    with pytest.raises(InvalidInputError) as refusal:
        keep(text, **options)

    assert (refusal.value.field, refusal.value.code) == (field, code)
    assert not WeatherFile.objects.exists()
    assert not Job.objects.exists()


def test_a_file_may_be_as_large_as_the_setting_says(bare, keep, settings):
    settings.WEATHER_FILE_MAX_BYTES = len(GOOD)
    keep(GOOD)

    with pytest.raises(InvalidInputError, match="larger than") as refusal:
        keep(GOOD + "\n")
    assert refusal.value.code == "file-too-large"


def test_no_more_is_unpacked_than_the_setting_says(bare, keep, settings):
    settings.WEATHER_FILE_MAX_UNPACKED_BYTES = 2 << 20
    _, job = keep(gzip.compress(GOOD.encode() * 5000))

    assert done(job).result["refusal"]["code"] == "unpacks-too-large"


def test_a_file_is_stored_and_read_in_parts_without_being_held_whole(bare, keep, monkeypatch):
    monkeypatch.setattr(weather_files, "PIECE_BYTES", 100)
    file, job = keep(GOOD)

    assert [len(part.content) for part in file.parts.all()] == [100] * 4 + [len(GOOD) - 400]
    assert stored(file) == GOOD.encode()
    assert done(job).result["days_added"] == 3


def test_a_file_of_too_many_lines_is_refused_and_says_to_divide_it(bare, keep, settings):
    settings.WEATHER_FILE_MAX_LINES = 12  # as many as it has
    assert done(keep(GOOD)[1]).result["days_added"] == 3

    with pytest.raises(InvalidInputError, match=r"more than 12 lines.*Divide") as refusal:
        keep(GOOD + "\n")

    assert (refusal.value.field, refusal.value.code) == ("file", "too-many-lines")


def test_too_many_short_lines_beyond_the_beginning_store_nothing(bare, keep, settings):
    settings.WEATHER_FILE_MAX_LINES = 100_000
    _, job = keep(GOOD + "," * (1 << 20) + "\n" * 200_000)

    assert done(job).result["refusal"]["code"] == "too-many-lines"
    assert not WeatherDay.objects.exists()


def test_a_name_keeps_no_control_characters(bare, keep):
    assert keep(GOOD, name="da\x00ys\n.csv")[0].name == "da?ys?.csv"


@pytest.mark.services
def test_two_files_of_a_station_wait_for_each_other(bare, keep):
    _, job = keep(GOOD)
    seen = []

    def look(execute, sql, params, many, context):
        seen.append(str(sql))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(look):
        done(job)

    assert any("scheduling_weatherstation" in sql and "NO KEY UPDATE" in sql for sql in seen)
