"""Documents over the API: listed, fetched as bytes, and true to the numbers of the API."""

from __future__ import annotations

import hashlib
from io import BytesIO

import pytest
from pypdf import PdfReader

from audits.services.visits import finish_visit
from properties.models import Job
from reports.models import Document
from reports.selectors.audit_summary import audit_summary_of
from reports.services.documents import make_audit_summary
from tests import cast
from tests.background import work
from tests.problems import pointers
from tests.writes import keyed

URL = "/api/v1/documents"


@pytest.fixture
def finished(visit, zone, controller, station, technician):
    cast.make_catch_test(visit, zone)
    setting = controller.settings.create(source="found", since=cast.TODAY, **cast.ROW)
    program = setting.programs.create(name="A", weekdays=[0, 3], starts=["05:00"])
    program.runs.create(zone=zone, run_min=15)
    return finish_visit(visit, actor=technician, now=cast.NOW)


@pytest.fixture
def callers(office_api, technician_api, outsider_api, anonymous_api):
    """Office, the visit's technician, another technician, and a stranger."""
    return office_api, technician_api, outsider_api, anonymous_api


@pytest.fixture
def document(finished):
    make_audit_summary(finished.pk, cast.NOW)
    return Document.objects.get()


def words_of(pdf):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_the_bytes_come_with_their_headers(technician_api, document):
    answer = technician_api.get(f"{URL}/{document.pk}/pdf")

    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="audit_summary-1.pdf"'
    assert answer["Cache-Control"] == "private, no-store"
    assert answer["ETag"] == f'"{hashlib.sha256(answer.content).hexdigest()}"'
    assert answer.content == bytes(document.pdf)


def test_the_row_says_what_the_bytes_are(technician_api, document, finished):
    (row,) = technician_api.get(f"{URL}?visit={finished.pk}").json()["results"]

    assert row.keys() == {
        "id", "kind", "property", "visit", "notice", "number", "title", "sha256", "size_bytes",
        "created_at",
    }  # fmt: skip
    pdf = technician_api.get(f"{URL}/{row['id']}/pdf").content
    assert row["sha256"] == hashlib.sha256(pdf).hexdigest()
    assert row["size_bytes"] == len(pdf)


@pytest.mark.parametrize("path", ["{id}", "{id}/pdf"])
def test_who_may_fetch(callers, outsider, other_garden, document, path):
    cast.make_visit(other_garden, outsider)
    address = f"{URL}/{path.format(id=document.pk)}"

    answers = [api.get(address).status_code for api in callers]

    assert answers == [200, 200, 404, 401]
    *_, outsider_api, anonymous_api = callers
    assert outsider_api.get(URL).json()["results"] == []
    assert anonymous_api.get(URL).status_code == 401


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_a_document_cannot_be_changed(office_api, document, method):
    answer = getattr(office_api, method)(f"{URL}/{document.pk}", {})

    assert answer.status_code in (403, 405)
    assert Document.objects.get() == document


def test_a_summary_is_made_in_the_background_when_asked(technician_api, finished):
    address = f"/api/v1/visits/{finished.pk}/audit-summary"

    asked, again = (
        technician_api.post(address, headers=keyed()),
        technician_api.post(address, headers=keyed()),
    )

    assert (asked.status_code, asked.json()["kind"]) == (202, "audit-summary")
    assert again.json()["id"] == asked.json()["id"]
    for _ in range(2):
        work()
    job = technician_api.get(f"/api/v1/jobs/{asked.json()['id']}").json()
    assert (job["state"], job["result"]["document"]) == ("done", str(Document.objects.get().pk))


def test_who_may_have_a_summary_made(office_api, outsider_api, anonymous_api, finished):
    Job.objects.all().delete()
    address = f"/api/v1/visits/{finished.pk}/audit-summary"

    assert outsider_api.post(address, headers=keyed()).status_code == 404
    assert anonymous_api.post(address, headers=keyed()).status_code == 401
    assert not Job.objects.exists()
    assert office_api.post(address, headers=keyed()).status_code == 202


def test_no_summary_of_a_visit_under_way(technician_api, visit):
    answer = technician_api.post(f"/api/v1/visits/{visit.pk}/audit-summary", headers=keyed())

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])
    assert answer.json()["remedy"] == "Finish the visit, then ask again."


@pytest.mark.parametrize(
    ("system", "rate_digits", "depth_digits"), [("us", 2, 2), ("metric", 1, 0)]
)
def test_the_paper_and_the_api_say_the_same_numbers(
    office_api, finished, zone, system, rate_digits, depth_digits
):
    finished.property.customer.units = system
    finished.property.customer.save()
    work()
    (row,) = office_api.get(f"{URL}?visit={finished.pk}").json()["results"]

    words = words_of(office_api.get(f"{URL}/{row['id']}/pdf").content)

    season = office_api.get(f"/api/v1/zones/{zone.pk}/season?units={system}").json()
    test = office_api.get(f"/api/v1/catch-tests?units={system}").json()["results"][0]
    july = season["season"]["months"][6]
    rates = [f"{test[name]['value']:.{rate_digits}f}" for name in ("rate_low", "rate_high")]
    rate = f"{season['rate']['value']:.{rate_digits}f}"
    found = f"{season['found_weekly']['value']:.{depth_digits}f}"
    need = f"{july['need_per_day']['value'] * 7:.{depth_digits}f}"
    row_of_zone = f"{rate} {rates[0]}–{rates[1]} 75% excellent · 12 cups {found} {need}"
    assert row_of_zone in words
    assert f"{july['days_between']}" in words
    run = f"{july['cycles']}×{july['cycle_min']:.0f}" if july["cycles"] > 1 else (
        f"{july['minutes']:.0f}"
    )  # fmt: skip
    assert run in words.split("What to set through the season")[1]


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_weekly_depth_that_is_printed_is_the_apis(office_api, finished, zone, system):
    """The strip of a zone is drawn from its content, so the content is what is compared."""
    season = office_api.get(f"/api/v1/zones/{zone.pk}/season?units={system}").json()

    content = audit_summary_of(finished)

    mm = 25.4 if system == "us" else 1
    july = season["season"]["months"][6]
    assert content.season[0].months[6].weekly_mm == pytest.approx(
        july["weekly_gross"]["value"] * mm, rel=1e-5
    )
    assert content.season[0].months[6].needed_mm == pytest.approx(
        july["need_per_day"]["value"] * 7 * mm, rel=1e-5
    )


def test_the_list_never_reads_the_bytes_and_takes_constant_queries(
    office_api, document, finished, django_assert_num_queries
):
    queries = 3  # token, units of the company, rows
    with django_assert_num_queries(queries) as captured:
        office_api.get(URL)
    assert not any('"pdf"' in query["sql"] for query in captured.captured_queries)
    values = {**Document.objects.values().get(), "pdf": b"%PDF-"}
    for number in range(2, 11):
        Document.objects.create(
            **{name: value for name, value in values.items() if name not in ("id", "number")},
            number=number,
        )

    with django_assert_num_queries(queries):
        assert len(office_api.get(URL).json()["results"]) == 10
