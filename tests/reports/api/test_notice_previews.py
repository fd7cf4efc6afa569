"""The preview of a monthly notice is what is then sent."""

from __future__ import annotations

import base64

import pytest
from django.core import mail
from django.utils import timezone

from properties.models import Customer, Job
from properties.services import jobs
from reports.models import Document
from scheduling.models import Notice
from scheduling.services import monthly_notices
from tests.scheduling.services.test_monthly_notices import make_garden


@pytest.fixture
def garden(company, station):
    return make_garden("Ingrid Holm")


def preview(api, garden, **query):
    return api.get(f"/api/v1/properties/{garden.pk}/notice-preview", query)


def test_byte_for_byte_it_is_what_is_sent_later(office_api, garden):
    shown = preview(office_api, garden).json()
    assert not Notice.objects.exists()
    assert not Document.objects.exists()
    assert not Job.objects.exists()

    now = timezone.now()
    monthly_notices.ask_for_monthly_notices(now=now)
    while due := jobs.due_job_ids(now=now):
        for job_id in due:
            jobs.run_job(job_id, now=now)

    (sent,) = mail.outbox
    files = {name: content for name, content, _ in sent.attachments}
    assert shown["subject"] == sent.subject
    assert shown["text"] == sent.body
    assert shown["html"] == sent.alternatives[0].content
    assert base64.b64decode(shown["pdf"]) == files["watering.pdf"]
    assert shown["calendar"] == files["watering.ics"]
    assert shown["would_go_out"]
    assert preview(office_api, garden).json()["text"] == sent.body


def test_it_says_why_it_would_not_go_out(office_api, garden):
    Customer.objects.update(wants_notices=False)

    shown = preview(office_api, garden).json()

    assert (shown["would_go_out"], shown["why_not"]) == (
        False, "The client never agreed to notices.",
    )  # fmt: skip


def test_another_month_can_be_looked_at(office_api, garden):
    shown = preview(office_api, garden, period="2026-12-01").json()

    assert "December" in shown["subject"]
    assert preview(office_api, garden, period="2026-12-02").status_code == 400


def test_without_a_plan_there_is_none(office_api, garden):
    from tests import cast

    bare = cast.make_property(name="Bare")

    answer = preview(office_api, bare)

    assert (answer.status_code, answer.json()["code"]) == (409, "no-plan")
