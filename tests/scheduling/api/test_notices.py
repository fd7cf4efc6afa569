"""Notices and nights over the API, and how it all stands."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from properties.models import Company, Event, Heartbeat, Job
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import NightRun, Notice
from scheduling.services import notices
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast
from tests.writes import keyed

URL = "/api/v1/notices"


@pytest.fixture
def notice(company):
    garden = cast.make_property(cast.make_customer(wants_notices=True))
    queue_notices(
        [
            NoticeDraft(
                key="frost:1", kind="frost", content=NoticeContent("Frost ahead", "It freezes."),
                customer_id=garden.customer_id, property_id=garden.pk,
            )
        ],
        now=cast.NOW,
    )  # fmt: skip
    return Notice.objects.get()


def test_the_office_sees_what_went_wrong_and_has_it_tried_again(office_api, notice):
    notices.hold(notice, code="no-address", detail="No e-mail address.", now=cast.NOW)

    (row,) = office_api.get(URL, {"state": "held"}).json()["results"]
    again = office_api.post(f"{URL}/{notice.pk}/try-again")

    assert row["subject"] == "Frost ahead"
    assert row["reason"] == {"code": "no-address", "detail": "No e-mail address."}
    assert (again.status_code, again.json()["state"]) == (200, "queued")
    refused = office_api.post(f"{URL}/{notice.pk}/try-again").json()
    assert refused["code"] == "notice-not-ended"


def test_addresses_do_not_stand_in_it(office_api, notice):
    assert notice.customer.email not in office_api.get(f"{URL}/{notice.pk}").content.decode()


def test_a_list_takes_as_many_queries_however_long(
    office_api, notice, django_assert_max_num_queries
):
    for number in range(2, 6):
        queue_notices(
            [
                NoticeDraft(
                    key=f"frost:{number}", kind="frost", content=NoticeContent("Frost", "x"),
                    customer_id=notice.customer_id,
                )
            ],
            now=cast.NOW,
        )  # fmt: skip

    with django_assert_max_num_queries(6):
        assert len(office_api.get(URL).json()["results"]) == 5


def test_the_office_stops_all_notices_and_lets_them_go_on(office_api, office, notice):
    for _ in range(2):
        assert office_api.post("/api/v1/pause-notices").json()["notices_paused_at"]
    assert notices.are_stopped()
    assert office_api.get("/statusz").json()["notices_stopped"]

    assert office_api.post("/api/v1/resume-notices").json() == {"notices_paused_at": None}

    assert not notices.are_stopped()
    acts = Event.objects.filter(subject_id=Company.objects.get().pk, actor=office)
    assert sorted(acts.values_list("act", flat=True)) == ["notices paused", "notices resumed"]


def test_one_more_night_is_asked_for_and_shown_with_its_slices(office_api, company):
    made = office_api.post("/api/v1/night-runs", headers=keyed())

    assert made.status_code == 202
    assert made.json()["state"] in ("open", "done")
    (row,) = office_api.get("/api/v1/night-runs").json()["results"]
    assert (row["number"], row["parts"]) == (2, [])


def test_while_a_night_is_under_way_no_other_is_begun(office_api, company):
    today = timezone.now().date()
    for days in (-1, 0):
        NightRun.objects.create(date=today + dt.timedelta(days=days), started_at=cast.NOW)

    answer = office_api.post("/api/v1/night-runs", headers=keyed())

    assert (answer.status_code, answer.json()["code"]) == (409, "night-under-way")


def test_how_it_stands(office_api, notice, station):
    now = timezone.now()
    Heartbeat.objects.create(name="sweep", at=now - dt.timedelta(seconds=30))
    Job.objects.update(due_at=now - dt.timedelta(seconds=120))
    NightRun.objects.create(date=cast.TODAY, state="done", started_at=now, ended_at=now)

    found = office_api.get("/statusz").json()

    assert found["oldest_due_job_s"] == pytest.approx(120, abs=30)
    assert found["last_beat_s"] == pytest.approx(30, abs=30)
    assert (found["jobs_due"], found["jobs_parked"]) == (1, 0)
    assert found["notices"] == {"queued": 1}
    assert (found["last_night"], found["last_night_state"]) == (str(cast.TODAY), "done")
    assert (found["mail_taken_today"], found["notices_stopped"]) == (0, False)
    assert found["weather_age_days"] is None


def test_before_anything_was_done_there_are_no_ages(office_api, company):
    found = office_api.get("/statusz").json()

    assert found["oldest_due_job_s"] is found["last_beat_s"] is found["last_night"] is None


def test_how_it_stands_is_for_the_office(technician_api, anonymous_api, company):
    assert technician_api.get("/statusz").status_code == 403
    assert anonymous_api.get("/statusz").status_code == 401
