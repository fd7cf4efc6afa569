from __future__ import annotations

import pytest
from django.test import Client

from properties.models import Job
from scheduling.models import WeatherFile
from tests import cast
from tests.properties.admin.forms import address_of, list_address

pytestmark = pytest.mark.django_db
REFUSED = {
    "line_number": 16, "field": "PRCP", "detail": "'<x>' is not a number.", "remedy": "Write one.",
    "excerpt": "ZZ,<x>",
}  # fmt: skip
SPAN = {
    "station_code": "ZZTEST00001", "first_date": "2021-06-10", "last_date": "2021-06-14",
    "days": 3, "days_missing": 2, "longest_gap_days": 2,
}  # fmt: skip
REPORT = {
    "days_added": 3, "days_changed": 1, "days_unchanged": 7, "lines_refused": 1,
    "stations": [SPAN], "refused": [REFUSED],
}  # fmt: skip


def make_file(**changes: object) -> WeatherFile:
    digest = str(WeatherFile.objects.count())
    values = {"name": "days.csv", "sha256": digest, "size_bytes": 4, **cast.ROW, **changes}
    return WeatherFile.objects.create(**values)


def test_a_files_report_stands_in_tables_and_is_escaped(office_pages: Client):
    file = make_file(report=REPORT, read_at=cast.NOW)

    page = office_pages.get(address_of(file)).content.decode()

    assert "3 days added, 1 changed, 7 unchanged; 1 lines refused" in page
    assert "<td>ZZTEST00001</td><td>2021-06-10</td><td>2021-06-14</td><td>3</td><td>2</td>" in page
    assert "<td>16</td><td>PRCP</td><td>&#x27;&lt;x&gt;&#x27; is not a number.</td>" in page


def test_the_list_tells_the_outcome_of_each(office_pages: Client):
    make_file()
    refusal = {"code": "x", "field": "file", "detail": "It is damaged.", "remedy": "Send again."}
    make_file(report={"refusal": refusal}, read_at=cast.NOW)

    page = office_pages.get(list_address(WeatherFile)).content.decode()

    assert "not read yet" in page
    assert "refused: It is damaged. Send again." in page


def test_a_file_whose_job_gave_up_does_not_seem_to_wait(office_pages: Client):
    file = make_file()
    problem = {"code": "broke", "detail": "OSError in attempt 3"}
    Job.objects.create(
        kind="weather_file", subject_id=file.pk, state="parked", problem=problem,
        created_at=cast.NOW, due_at=cast.NOW,
    )  # fmt: skip

    for address in (address_of(file), list_address(WeatherFile)):
        page = office_pages.get(address).content.decode()
        assert "failed: OSError in attempt 3 Have its job run again" in page
        assert "not read yet" not in page


def test_a_file_can_be_looked_at_only(office_pages: Client):
    file = make_file()

    assert office_pages.get(address_of(file)).status_code == 200
    assert office_pages.post(address_of(file), {"name": "y"}).status_code == 403
