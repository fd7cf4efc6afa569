"""The company, its memory and its background work."""

from __future__ import annotations

from uuid import uuid4

import pytest

from properties.models import Company, Event, Job, StaffMember
from properties.services.events import record_event
from tests import cast
from tests.properties.api.bodies import API


@pytest.fixture
def job_of():
    def make(staff, **changes):
        values = {"kind": "plans", "subject_id": uuid4(), "created_at": cast.NOW}
        return Job.objects.create(**values, due_at=cast.NOW, asked_by=staff, **changes)

    return make


def test_all_staff_reads_the_company(office_api, technician_api, anonymous_api, company):
    expected = {
        "id": str(company.pk), "name": "Meadowlark", "contact_line": "", "units": "us",
        "time_zone": "America/Chicago", "currency": "USD", "digging_business_days": 2,
        "digging_longest_days": 14, "holidays": [], "leaves_room_for_rain": False,
        "notices_paused_at": None, "created_at": "2026-06-10T15:00:00Z",
        "changed_at": "2026-06-10T15:00:00Z", "revision": 1,
    }  # fmt: skip

    assert office_api.get(f"{API}/company").json() == expected
    assert technician_api.get(f"{API}/company").json() == expected
    assert anonymous_api.get(f"{API}/company").status_code == 401


@pytest.mark.parametrize("verb", ["post", "put", "delete"])
def test_the_one_company_is_not_made_or_deleted_here(office_api, verb):
    assert getattr(office_api, verb)(f"{API}/company", {}).status_code == 405


def test_an_installation_without_company_says_how_to_found_it(office_api):
    Company.objects.all().delete()

    answer = office_api.get(f"{API}/company")

    assert answer.status_code == 409
    assert answer.json()["code"] == "no-company"
    assert "start_company" in answer.json()["remedy"]


def test_the_office_reads_the_memory_of_a_row(office_api, office, garden):
    event = record_event(garden, act="seen", actor=office, now=cast.NOW, after={"city": "x"})

    (row,) = office_api.get(f"{API}/events", {"subject_id": str(garden.pk)}).json()["results"]

    assert row == {
        "id": str(event.pk), "at": "2026-06-10T15:00:00Z", "actor": str(office.pk), "device": "",
        "act": "seen", "subject_kind": "properties.property", "subject_id": str(garden.pk),
        "before": {}, "after": {"city": "x"},
    }  # fmt: skip
    assert office_api.get(f"{API}/events/{event.pk}").json() == row


def test_the_memory_is_filtered_by_who_and_what(office_api, office, technician, garden):
    record_event(garden, act="seen", actor=technician, now=cast.NOW)
    kinds = {"subject_kind": "properties.property"}

    assert len(office_api.get(f"{API}/events", kinds).json()["results"]) == 1
    by_technician = office_api.get(f"{API}/events", {"actor": str(technician.pk)}).json()
    assert [row["act"] for row in by_technician["results"]] == ["seen"]


@pytest.mark.parametrize("verb", ["post", "put", "patch", "delete"])
def test_nobody_writes_the_memory_by_hand(office_api, verb):
    event = Event.objects.first()

    assert getattr(office_api, verb)(f"{API}/events/{event.pk}", {}).status_code == 403
    assert getattr(office_api, verb)(f"{API}/events", {}).status_code == 403


def test_the_memory_is_the_offices_alone(technician_api, outsider_api, anonymous_api):
    event = Event.objects.first()
    for api, expected in ((technician_api, 403), (outsider_api, 403), (anonymous_api, 401)):
        assert api.get(f"{API}/events").status_code == expected
        assert api.get(f"{API}/events/{event.pk}").status_code == expected


def test_a_job_is_shown_as_it_stands(office_api, office, job_of):
    problem = {"code": "no-weather", "detail": "None.", "remedy": "Import some."}
    job = job_of(office, state="parked", attempts=1, ended_at=cast.NOW, problem=problem)

    row = office_api.get(f"{API}/jobs/{job.pk}").json()

    assert row == {
        "id": str(job.pk), "kind": "plans", "subject_id": str(job.subject_id), "state": "parked",
        "attempts": 1, "created_at": "2026-06-10T15:00:00Z", "due_at": "2026-06-10T15:00:00Z",
        "ended_at": "2026-06-10T15:00:00Z", "result": {}, "problem": problem,
    }  # fmt: skip


def test_a_technician_sees_what_he_asked_for_and_the_office_all(
    office_api, technician_api, outsider_api, anonymous_api, job_of
):
    office, technician = (StaffMember.objects.get(name=name) for name in ("Office", "Ruben"))
    own, foreign = job_of(technician), job_of(office)

    def listed(api):
        return {row["id"] for row in api.get(f"{API}/jobs").json()["results"]}

    assert listed(office_api) == {str(own.pk), str(foreign.pk)}
    assert listed(technician_api) == {str(own.pk)}
    assert listed(outsider_api) == set()
    assert technician_api.get(f"{API}/jobs/{own.pk}").status_code == 200
    assert technician_api.get(f"{API}/jobs/{foreign.pk}").status_code == 404
    assert outsider_api.get(f"{API}/jobs/{own.pk}").status_code == 404
    assert anonymous_api.get(f"{API}/jobs/{own.pk}").status_code == 401


def test_jobs_are_filtered(office_api, office, job_of):
    done, waiting = job_of(office, state="done"), job_of(office)

    def listed(**query):
        return [row["id"] for row in office_api.get(f"{API}/jobs", query).json()["results"]]

    assert listed(state="done") == [str(done.pk)]
    assert listed(subject_id=str(waiting.subject_id)) == [str(waiting.pk)]
    assert listed(kind="other") == []


@pytest.mark.parametrize("verb", ["post", "put", "patch", "delete"])
def test_nobody_makes_jobs_by_hand(office_api, verb):
    assert getattr(office_api, verb)(f"{API}/jobs", {}).status_code == 403
