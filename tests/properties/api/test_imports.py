"""Spreadsheets over the API: sent, looked at, written, cancelled, and the report of each row."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from properties.models import Customer, Import, Job
from tests import cast
from tests.background import work
from tests.problems import pointers, row_counts
from tests.properties import import_files as files

IMPORTS = "/api/v1/imports"
GOOD = files.CUSTOMERS.encode()
FAULTY = GOOD.replace(b"tomas@brandt.example", b"tomas")


def send(api, content=GOOD, name="rows.csv", **said):
    file = SimpleUploadedFile(name, content)
    return api.post(IMPORTS, {"file": file, "kind": "customers", **said}, format="multipart")


def sent(api, content=GOOD, **said):
    """Send a file, look at it, and return its address."""
    address = f"{IMPORTS}/{send(api, content, **said).json()['subject_id']}"
    work()
    return address


def make_import(**changes):
    values = {"kind": "customers", "name": "x.csv", "sha256": "x", "size_bytes": 4, **cast.ROW}
    return Import.objects.create(**{**values, **changes})


def test_a_file_goes_from_the_post_to_its_rows(office_api):
    answer = send(office_api)
    assert answer.status_code == 202
    job = answer.json()
    assert (job["kind"], job["state"]) == ("import-look", "waiting")
    address = f"{IMPORTS}/{job['subject_id']}"
    assert office_api.get(address).json()["progress"] == {"rows_done": 0, "rows": None}
    work()

    found = office_api.get(address).json()
    assert (found["state"], found["progress"]) == ("looked_at", {"rows_done": 2, "rows": 2})
    assert found["report"]["found"]["columns"]["E-mail"] == "customers: E-mail"
    assert not Customer.objects.exists()

    write = office_api.post(f"{address}/write", {})
    assert (write.status_code, write.json()["kind"]) == (202, "import-write")
    work()

    assert office_api.get(address).json()["state"] == "written"
    assert Customer.objects.count() == 2
    assert office_api.get(f"/api/v1/jobs/{write.json()['id']}").json()["result"]["made"] == 2


def test_the_report_names_cells_faults_and_remedies_page_by_page(office_api):
    address = sent(office_api, FAULTY)

    first = office_api.get(f"{address}/lines?limit=1").json()
    refused = office_api.get(f"{address}/lines?outcome=refused").json()["results"]

    assert [line["row"] for line in first["results"]] == [2]
    assert [line["row"] for line in office_api.get(first["next"]).json()["results"]] == [3]
    (line,) = refused
    (fault,) = line["faults"]
    assert (line["row"], fault["cell"], fault["column"]) == (3, "C3", "E-mail")
    assert fault["detail"]
    assert fault["remedy"]
    assert office_api.get(f"{address}/lines?outcome=odd").status_code == 400


def test_the_report_comes_as_csv_that_runs_nothing(office_api):
    address = sent(office_api, GOOD.replace(b"K-2", b"=2+2"))

    answer = office_api.get(f"{address}/report.csv?mark=yes")

    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    lines = b"".join(answer.streaming_content).decode().splitlines()
    assert lines[0].startswith("\ufeffRow,Outcome,Reference")
    assert lines[1:] == ["2,made,K-1,,,,,,", "3,made,'=2+2,,,,,,"]


def test_rows_with_faults_are_refused_until_the_good_ones_are_asked_for(office_api):
    address = sent(office_api, FAULTY)

    refused = office_api.post(f"{address}/write", {})
    assert (refused.status_code, pointers(refused)) == (409, ["/only_good_rows"])
    assert office_api.post(f"{address}/write", {"only_good_rows": True}).status_code == 202
    work()

    assert Customer.objects.count() == 1


def test_a_cancelled_import_writes_nothing(office_api):
    address = sent(office_api)
    office_api.post(f"{address}/write", {})

    assert office_api.post(f"{address}/cancel").json()["state"] == "cancelled"
    work()

    assert not Customer.objects.exists()
    assert office_api.post(f"{address}/write", {}).status_code == 409


def test_the_office_says_how_a_file_is_to_be_read(office_api):
    content = "Kd-Nr;Name;Hut\nK-1;Zoë;4\n".encode("cp1252")

    address = sent(
        office_api, content, headings=json.dumps({"Kd-Nr": "Reference"}), ignores_unknown="true",
        encoding="windows-1252", delimiter="semicolon", decimal="comma", day_order="day-first",
        units="metric",
    )  # fmt: skip

    found = office_api.get(address).json()
    assert found["report"]["found"]["encoding"] == "windows-1252"
    assert (found["report"]["made"], found["said"]["headings"]) == (1, {"Kd-Nr": "Reference"})


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"content": b""}, "/file"),
        ({"content": b"PK\x03\x04"}, "/file"),
        ({"content": b"Name\nx\n"}, "/headings"),
        ({"kind": "sheep"}, "/kind"),
        ({"units": "miles"}, "/units"),
        ({"headings": "[]"}, "/headings"),
        ({"headings": '{"x": 1}'}, "/headings"),
        ({"headings": "{"}, "/headings"),
        ({"encoding": "ebcdic"}, "/encoding"),
        ({"delimiter": "pipe"}, "/delimiter"),
        ({"decimal": "dot"}, "/decimal"),
        ({"day_order": "ymd"}, "/day_order"),
        ({"hat": "x"}, "/hat"),
        ({"name": "x" * 201}, "/file"),
    ],
)
def test_what_cannot_be_taken_is_refused_by_its_field(office_api, said, where):
    before = row_counts()

    answer = send(office_api, **said)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_a_post_without_a_form_is_refused(office_api):
    assert office_api.post(IMPORTS, {"kind": "zones"}).status_code == 415
    answer = office_api.post(IMPORTS, {"kind": "zones"}, format="multipart")
    assert (answer.status_code, pointers(answer)) == (400, ["/file"])


def test_a_file_too_large_is_refused_before_it_is_taken_in(office_api, settings, monkeypatch):
    settings.IMPORT_MAX_BYTES = 50
    assert pointers(send(office_api)) == ["/file"]

    monkeypatch.setattr("rest_framework.parsers.MultiPartParser.parse", None)
    assert send(office_api, GOOD * 1000).status_code == 400


def test_an_import_whose_job_gave_up_says_so(office_api, company):
    sheet = make_import()
    problem = {"code": "broke", "detail": "OSError in attempt 3"}
    Job.objects.create(
        kind="import-look", subject_id=sheet.pk, state="parked", problem=problem,
        created_at=cast.NOW, due_at=cast.NOW,
    )  # fmt: skip

    failure = office_api.get(f"{IMPORTS}/{sheet.pk}").json()["failure"]

    assert failure["detail"] == "OSError in attempt 3"
    assert "send the file again" in failure["remedy"]


def test_only_the_office_brings_in(office_api, technician_api, anonymous_api):
    assert send(technician_api).status_code == 403
    assert send(anonymous_api).status_code == 401
    assert not Import.objects.exists()


def test_lists_take_as_many_queries_for_many(office_api, company, django_assert_num_queries):
    for _ in range(5):
        sheet = make_import()
    sheet.lines.bulk_create(
        sheet.lines.model(sheet=sheet, row=row, outcome="made") for row in range(20)
    )
    sheet.parts.create(number=0, content=b"x")
    office_api.get(IMPORTS)  # the first request of a process may read what it then keeps

    with django_assert_num_queries(3) as queries:  # token, units of the company, rows
        assert len(office_api.get(IMPORTS).json()["results"]) == 5
    assert not any('"content"' in query["sql"] for query in queries.captured_queries)
    with django_assert_num_queries(3):  # token, import, lines
        assert len(office_api.get(f"{IMPORTS}/{sheet.pk}/lines").json()["results"]) == 20
