"""Notices on their way: from the queue through the sheet to the mail server, once."""

from __future__ import annotations

import datetime as dt
import io

import pytest
from django.core import mail
from icalendar import Calendar
from pypdf import PdfReader

from properties.models import Customer, Job
from properties.services import jobs
from reports.models import Document
from reports.services import delivery
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import MailDay, Notice
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast
from tests.reports.services.notice_mail import (
    CONTENT,
    MINUTE,
    failing,
    queue,
    state,
    work,
)

pytestmark = pytest.mark.django_db


def test_a_notice_is_sent_with_its_sheet_and_its_calendar(garden):
    notice = queue(garden)

    work()

    (sent,) = mail.outbox
    assert (state(notice), notice.sent_at, notice.attempts) == ("sent", cast.NOW, 1)
    assert (sent.to, sent.subject) == (["ingrid@holm.example"], CONTENT.subject)
    assert sent.from_email == "Meadowlark <notices@meadowlark.example>"
    assert "Dear Ingrid Holm," in sent.body
    (html,) = sent.alternatives
    assert "<td" in html.content
    (sheet_name, sheet, sheet_kind), (calendar_name, calendar, _) = sent.attachments
    assert (sheet_name, sheet_kind, calendar_name) == (
        "watering.pdf", "application/pdf", "watering.ics",
    )  # fmt: skip
    text = PdfReader(io.BytesIO(sheet)).pages[0].extract_text()
    assert "48 Kiln Street" in text
    assert "14 min" in text
    document = Document.objects.get()
    assert (bytes(document.pdf), document.sha256) == (sheet, notice.sheet_sha256)
    (entry,) = Calendar.from_ical(calendar).walk("VEVENT")
    assert (entry["UID"], entry["DTSTART"].dt) == ("set-2026-09@meadowlark", dt.date(2026, 9, 1))


def test_programs_of_mail_can_tell_what_it_is_and_stop_it(garden, client):
    notice = queue(garden)
    work()

    headers = mail.outbox[0].message()

    assert headers["Message-ID"] == notice.message_id
    assert headers["Auto-Submitted"] == "auto-generated"
    assert headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    address = headers["List-Unsubscribe"].strip("<>")
    assert address.startswith("https://water.example/notices/stop/")
    answer = client.post(address.removeprefix("https://water.example"))
    assert answer.status_code == 200
    assert Customer.objects.get().mail_block() == "unsubscribed"


def test_the_preview_is_what_is_sent(garden):
    notice = queue(garden)
    Job.objects.all().delete()
    delivery.ask_for_delivery([notice.pk], now=cast.NOW)
    work()
    sheet = Document.objects.get()

    again = delivery.mail_of(Notice.objects.get(), bytes(sheet.pdf), now=cast.NOW + MINUTE)

    (sent,) = mail.outbox
    assert again.body == sent.body
    assert again.alternatives == sent.alternatives
    assert again.attachments == sent.attachments
    assert again.subject == sent.subject
    assert again.extra_headers == sent.extra_headers


def test_doing_it_twice_sends_once(garden):
    notice = queue(garden)
    work()
    delivery.ask_for_delivery([notice.pk], now=cast.NOW)

    work()

    assert len(mail.outbox) == 1
    assert Document.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"wants_notices": False}, "no-consent"),
        ({"wants_notices": False, "unsubscribed_at": cast.NOW}, "unsubscribed"),
        ({"email": ""}, "no-address"),
        ({"email": "not an address"}, "broken-address"),
    ],
)
def test_who_may_not_be_mailed_gets_nothing_and_the_office_sees_why(garden, changes, code):
    notice = queue(garden)
    Customer.objects.update(**changes)  # after it was queued

    work()

    assert mail.outbox == []
    assert (state(notice), notice.reason["code"]) == ("held", code)
    assert not MailDay.objects.exists()


def test_a_colleague_who_left_gets_nothing(company, office):
    plain = NoticeContent("Tomorrow's visits", "Three visits.")
    queue_notices(
        [NoticeDraft(key="visits:1", kind="visit", content=plain, staff_id=office.pk)],
        now=cast.NOW,
    )
    office.is_active = False
    office.save()

    work()

    assert mail.outbox == []
    assert Notice.objects.get().reason["code"] == "left"


def test_a_colleague_is_told_without_a_link_to_stop(company, office):
    plain = NoticeContent("Tomorrow's visits", "Three visits.")
    queue_notices(
        [NoticeDraft(key="visits:1", kind="visit", content=plain, staff_id=office.pk)],
        now=cast.NOW,
    )

    work()

    (sent,) = mail.outbox
    assert sent.to == [office.email]
    assert "List-Unsubscribe" not in sent.message()
    assert sent.attachments == []


def test_while_notices_are_stopped_they_wait(garden, settings):
    settings.NOTICES_STOPPED = True
    notice = queue(garden)
    work()
    assert (state(notice), notice.attempts, mail.outbox) == ("queued", 0, [])

    settings.NOTICES_STOPPED = False
    work(cast.NOW + delivery.STOPPED_FOR)

    assert state(notice) == "sent"


def test_what_is_above_the_quota_waits_for_the_next_day(garden, settings):
    settings.NOTICES_A_DAY = 1
    plain = NoticeContent("Water less", "It gets cooler.")
    drafts = [
        NoticeDraft(key=f"monthly:{at}", kind="monthly", content=plain,
                    customer_id=garden.customer_id)
        for at in range(3)
    ]  # fmt: skip
    queue_notices(drafts, now=cast.NOW)

    work()
    assert len(mail.outbox) == 1
    midnight = dt.datetime(2026, 6, 11, 5, tzinfo=dt.UTC)  # in Chicago
    assert jobs.due_job_ids(now=midnight - MINUTE) == []
    work(midnight)
    work(midnight + dt.timedelta(days=1))

    assert len(mail.outbox) == 3
    assert list(MailDay.objects.order_by("date").values_list("taken", flat=True)) == [1, 1, 1]


def test_what_the_mail_server_did_not_take_is_none_of_the_quota(garden, monkeypatch, settings):
    settings.NOTICES_A_DAY = 1
    failing(monkeypatch, ConnectionRefusedError(), ConnectionRefusedError())
    notice = queue(garden)
    for minutes in (0, 1, 3):
        work(cast.NOW + minutes * MINUTE)

    assert state(notice) == "sent"
    assert MailDay.objects.get().taken == 1


def test_the_name_of_the_company_cannot_add_a_header(garden, company):
    company.name = "Meadowlark\r\nBcc: else@where.example"
    company.save()
    notice = queue(garden)

    work()

    (sent,) = mail.outbox
    assert state(notice) == "sent"
    assert sent.message()["Bcc"] is None
    assert sent.recipients() == ["ingrid@holm.example"]
