"""Station files over the API."""

from __future__ import annotations

import gzip

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from properties.models import Job
from scheduling.models import WeatherDay, WeatherFile
from tests import cast
from tests.background import work
from tests.problems import pointers, row_counts

FILES = "/api/v1/weather-files"
GOOD = b"ZZTEST00001,20210610,PRCP,12,,,7,0700\nZZTEST00001,20210612,PRCP,x,,,7,0700\n"


@pytest.fixture
def bare(company):
    return cast.make_station()


def send(api, content=GOOD, name="days.csv", **said):
    file = SimpleUploadedFile(name, content)
    return api.post(FILES, {"file": file, **said}, format="multipart")


def make_file(number, **changes):
    values = {"name": "x.csv", "sha256": str(number), "size_bytes": 4, **cast.ROW, **changes}
    return WeatherFile.objects.create(**values)


def test_a_file_goes_from_the_post_to_its_days_and_report(office_api, bare):
    answer = send(office_api, gzip.compress(GOOD), "days.csv.gz", layout="by-station")

    assert answer.status_code == 202
    job = answer.json()
    assert (job["kind"], job["state"]) == ("weather_file", "waiting")
    address = f"{FILES}/{job['subject_id']}"
    assert office_api.get(address).json()["state"] == "waiting"
    work()

    found = office_api.get(address).json()
    assert (found["state"], found["name"], found["layout"]) == ("read", "days.csv.gz", "by-station")
    assert (found["counts"]["days_added"], found["counts"]["lines_refused"]) == (1, 1)
    (refused,) = found["report"]["refused"]
    assert (refused["line_number"], refused["field"]) == (2, "PRCP")
    assert refused["remedy"]
    assert WeatherDay.objects.get().rain_mm == 1.2
    assert office_api.get(f"/api/v1/jobs/{job['id']}").json()["result"] == found["counts"]


def test_the_same_file_again_is_answered_with_its_report(office_api, bare):
    first = send(office_api).json()
    assert send(office_api).json()["id"] == first["id"]
    work()
    before = row_counts()

    again = send(office_api, name="again.csv")

    assert (again.status_code, again.json()["id"]) == (200, first["subject_id"])
    assert again.json()["report"]["days_added"] == 1
    assert row_counts() == before


def test_a_refused_file_says_why(office_api, company):
    address = f"{FILES}/{send(office_api).json()['subject_id']}"
    work()

    found = office_api.get(address).json()
    assert found["state"] == "refused"
    assert found["counts"]["refusal"]["code"] == "unknown-station"
    assert found["report"]["refusal"]["remedy"]


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"content": b""}, "/file"),
        ({"content": b"\x00\x01"}, "/file"),
        ({"content": b"hello\n"}, "/layout"),
        ({"name": "days.csv.gz"}, "/file"),
        ({"layout": "xml"}, "/layout"),
        ({"units": "miles"}, "/units"),
        ({"units": "metric"}, "/units"),
        ({"content": b"STATION,NAME,DATE,TMAX\n"}, "/units"),
        ({"station": "ZZTEST00001"}, "/station"),
        ({"name": "x" * 201}, "/file"),
    ],
)
def test_what_cannot_be_taken_is_refused_by_its_field(office_api, bare, said, where):
    before = row_counts()

    answer = send(office_api, **said)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_a_post_without_a_file_is_refused(office_api):
    answer = office_api.post(FILES, {"layout": "dly"}, format="multipart")

    assert (answer.status_code, pointers(answer)) == (400, ["/file"])
    assert office_api.post(FILES, {"file": "x"}).status_code == 415


def test_a_file_larger_than_the_setting_is_refused(office_api, bare, settings):
    settings.WEATHER_FILE_MAX_BYTES = 50

    within_the_form = send(office_api)
    beyond_it = send(office_api, GOOD * 1000)

    for answer in (within_the_form, beyond_it):
        assert (answer.status_code, pointers(answer)) == (400, ["/file"])
        assert answer.json()["errors"][0]["code"] == "file-too-large"


def test_a_file_too_large_is_refused_before_it_is_taken_in(office_api, settings, monkeypatch):
    settings.WEATHER_FILE_MAX_BYTES = 50
    monkeypatch.setattr("rest_framework.parsers.MultiPartParser.parse", None)

    assert send(office_api, GOOD * 1000).status_code == 400


def test_a_file_whose_job_gave_up_says_so_until_it_is_sent_again(
    office_api, bare, monkeypatch, settings
):
    settings.JOB_ATTEMPTS = 1
    monkeypatch.setattr("scheduling.services.weather_files.told", None)  # calling it breaks
    address = f"{FILES}/{send(office_api).json()['subject_id']}"
    assert office_api.get(address).json()["failure"] is None
    work()

    found = office_api.get(address).json()
    assert (found["state"], found["read_at"]) == ("failed", None)
    assert found["failure"]["detail"] == "TypeError in attempt 1"
    assert "send the same file again" in found["failure"]["remedy"]
    assert office_api.get(FILES).json()["results"][0]["state"] == "failed"

    monkeypatch.undo()
    assert send(office_api).status_code == 202
    assert office_api.get(address).json()["state"] == "waiting"
    work()
    found = office_api.get(address).json()
    assert (found["state"], found["failure"]) == ("read", None)


def test_a_file_that_is_being_read_says_so(office_api, company):
    file = make_file(1)
    Job.objects.create(
        kind="weather_file", subject_id=file.pk, state="running", claimed_until=cast.NOW,
        created_at=cast.NOW, due_at=cast.NOW,
    )  # fmt: skip

    assert office_api.get(f"{FILES}/{file.pk}").json()["state"] == "reading"


def test_only_the_office_sends_and_reads(office_api, technician_api, anonymous_api, bare):
    file = make_file(1)

    for address in (FILES, f"{FILES}/{file.pk}"):
        assert technician_api.get(address).status_code == 403
        assert anonymous_api.get(address).status_code == 401
        assert office_api.get(address).status_code == 200
    assert send(technician_api).status_code == 403
    assert send(anonymous_api).status_code == 401
    assert WeatherFile.objects.get() == file


def test_the_list_takes_as_many_queries_for_many_and_never_reads_the_bytes(
    office_api, company, django_assert_num_queries
):
    report = {"days_added": 4, "refused": [{"line_number": 1}], "stations_unknown": 0}
    make_file(0).parts.create(number=0, content=b"x")
    office_api.get(FILES)  # the first request of a process may read what it then keeps
    for number in range(1, 10):
        make_file(number, report=report, read_at=cast.NOW)

    with django_assert_num_queries(3) as queries:  # token, units of the company, rows
        rows = office_api.get(FILES).json()["results"]

    assert len(rows) == 10
    # The clock stands still here, so the order of the rows is any.
    assert {"days_added": 4, "stations_unknown": 0} in [row["counts"] for row in rows]
    assert "report" not in rows[0]
    assert not any('"content"' in query["sql"] for query in queries.captured_queries)
