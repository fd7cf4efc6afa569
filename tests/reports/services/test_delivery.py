"""Notices on their way: from the queue through the sheet to the mail server, once."""

from __future__ import annotations

import datetime as dt
import io
import smtplib

import pytest
from django.core import mail
from django.core.mail import EmailMultiAlternatives
from icalendar import Calendar
from pypdf import PdfReader

from properties.models import Customer, Job
from properties.services import jobs
from reports.models import Document
from reports.services import delivery
from scheduling.domain.notice_content import (
    CalendarEntry,
    NoticeContent,
    NoticeSection,
    NoticeTable,
)
from scheduling.models import MailDay, Notice
from scheduling.services import notices
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)
CONTENT = NoticeContent(
    "Water less from 1 September",
    "It gets cooler.",
    (NoticeSection("What to change", ("In the garage:",), NoticeTable(("Was",), (("14 min",),))),),
    (CalendarEntry("set-2026-09@meadowlark", dt.date(2026, 9, 1), "Set program A"),),
    has_sheet=True,
)


class WorkerDied(BaseException):
    """Stands for kill -9: no handler of exceptions sees it."""


@pytest.fixture(autouse=True)
def fast(settings):
    settings.NOTICE_RETRY_S = 60
    settings.PUBLIC_URL = "https://water.example"
    settings.DEFAULT_FROM_EMAIL = "notices@meadowlark.example"


@pytest.fixture
def garden(company):
    return cast.make_property(cast.make_customer(wants_notices=True))


def queue(garden, content=CONTENT, **words) -> Notice:
    people = {"customer_id": garden.customer_id, "property_id": garden.pk, **words}
    queue_notices(
        [NoticeDraft(key="monthly:1", kind="monthly", content=content, **people)], now=cast.NOW
    )
    return Notice.objects.get()


def work(now=cast.NOW) -> None:
    """Do what is due, and what becomes due by it."""
    while due := jobs.due_job_ids(now=now):
        for job_id in due:
            jobs.run_job(job_id, now=now)


def state(notice) -> str:
    notice.refresh_from_db()
    return notice.state


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


def failing(monkeypatch, *errors):
    """Let the mail server fail so, one after the other, and then take everything."""
    remaining = list(errors)
    send = EmailMultiAlternatives.send

    def fail(self, fail_silently=False):
        if remaining:
            raise remaining.pop(0)
        return send(self)

    monkeypatch.setattr(EmailMultiAlternatives, "send", fail)


GREYLISTED = smtplib.SMTPRecipientsRefused({"ingrid@holm.example": (450, b"later")})
NOBODY = smtplib.SMTPRecipientsRefused({"ingrid@holm.example": (550, b"no such user ingrid")})


@pytest.mark.parametrize(
    "error",
    [GREYLISTED, ConnectionRefusedError(), TimeoutError(), smtplib.SMTPServerDisconnected("gone"),
     smtplib.SMTPDataError(451, b"try later")],
    ids=lambda error: type(error).__name__,
)  # fmt: skip
def test_what_may_pass_is_tried_again_later_each_time(garden, monkeypatch, error):
    failing(monkeypatch, error, error)
    notice = queue(garden)

    work()
    assert (state(notice), notice.attempts, len(mail.outbox)) == ("queued", 1, 0)
    assert notice.reason["code"] == "mail-failed"
    assert jobs.due_job_ids(now=cast.NOW + dt.timedelta(seconds=59)) == []

    work(cast.NOW + MINUTE)
    assert jobs.due_job_ids(now=cast.NOW + MINUTE + dt.timedelta(seconds=119)) == []
    work(cast.NOW + 3 * MINUTE)

    assert (state(notice), notice.attempts) == ("sent", 3)
    assert notice.may_be_twice == isinstance(error, smtplib.SMTPServerDisconnected)
    assert len(mail.outbox) == 1


def test_after_three_attempts_it_is_parked_and_can_be_tried_again(garden, monkeypatch, office):
    failing(monkeypatch, *[ConnectionRefusedError()] * 3)
    notice = queue(garden)
    for minutes in (0, 1, 3):
        work(cast.NOW + minutes * MINUTE)

    assert (state(notice), notice.attempts) == ("parked", 3)
    assert notice.reason == {"code": "mail-failed", "detail": "ConnectionRefusedError"}
    assert jobs.due_job_ids(now=cast.NOW + dt.timedelta(days=9)) == []

    notices.try_again(notice, actor=office, now=cast.NOW + 9 * MINUTE)
    work(cast.NOW + 9 * MINUTE)
    assert (state(notice), len(mail.outbox)) == ("sent", 1)


def test_an_address_refused_for_good_is_not_tried_again(garden, monkeypatch):
    failing(monkeypatch, NOBODY)
    notice = queue(garden)

    work()

    assert (state(notice), notice.reason["code"]) == ("held", "refused-address")
    assert Customer.objects.get().mail_block() == "refused-address"
    assert "ingrid" not in str(notice.reason)


def test_a_sender_that_dies_after_sending_leaves_at_most_one_more_of_the_same(garden, monkeypatch):
    notice = queue(garden)
    settle = jobs._HANDLERS["deliver-notice"]

    def die(*_):
        raise WorkerDied

    monkeypatch.setitem(jobs._HANDLERS, "deliver-notice", die)
    with pytest.raises(WorkerDied):
        work()
    assert (state(notice), len(mail.outbox)) == ("sending", 1)
    monkeypatch.setitem(jobs._HANDLERS, "deliver-notice", settle)

    work(cast.NOW + dt.timedelta(hours=1))

    assert (state(notice), notice.may_be_twice) == ("sent", True)
    assert [each.message()["Message-ID"] for each in mail.outbox] == [notice.message_id] * 2


def test_a_sender_that_dies_before_sending_sends_later(garden, monkeypatch):
    failing(monkeypatch, WorkerDied())
    notice = queue(garden)
    with pytest.raises(WorkerDied):
        work()
    assert (state(notice), mail.outbox) == ("sending", [])

    work(cast.NOW + dt.timedelta(hours=1))

    assert (state(notice), notice.may_be_twice, len(mail.outbox)) == ("sent", True, 1)


def test_a_worker_that_dies_over_the_sheet_makes_it_later(garden, monkeypatch):
    notice = queue(garden)
    render = jobs._GATHERS["notice-sheet"]

    def die(*_):
        raise WorkerDied

    monkeypatch.setitem(jobs._GATHERS, "notice-sheet", die)
    with pytest.raises(WorkerDied):
        work()
    monkeypatch.setitem(jobs._GATHERS, "notice-sheet", render)

    work(cast.NOW + dt.timedelta(hours=1))

    assert (state(notice), len(mail.outbox), Document.objects.count()) == ("sent", 1, 1)


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


def test_the_sweep_brings_back_what_lost_its_job(garden):
    notice = queue(garden)
    Job.objects.all().delete()

    assert delivery.sweep_notices(now=cast.NOW) == 1
    assert delivery.sweep_notices(now=cast.NOW) == 0
    work()

    assert state(notice) == "sent"
    assert delivery.sweep_notices(now=cast.NOW) == 0


def test_a_message_whose_senders_died_twice_is_not_sent_a_third_time(garden, monkeypatch, office):
    notice = queue(garden)
    settle = jobs._HANDLERS["deliver-notice"]

    def die(*_):
        raise WorkerDied

    monkeypatch.setitem(jobs._HANDLERS, "deliver-notice", die)
    for hours in (0, 1):
        with pytest.raises(WorkerDied):
            work(cast.NOW + dt.timedelta(hours=hours))
    monkeypatch.setitem(jobs._HANDLERS, "deliver-notice", settle)

    work(cast.NOW + dt.timedelta(hours=2))

    assert (state(notice), notice.reason["code"]) == ("parked", "sent-unseen")
    assert len(mail.outbox) == 2
    notices.try_again(notice, actor=office, now=cast.NOW + dt.timedelta(hours=3))
    work(cast.NOW + dt.timedelta(hours=3))
    assert state(notice) == "sent"


def test_a_second_job_of_a_notice_leaves_alone_what_another_is_sending(
    garden, monkeypatch, settings
):
    notice = queue(garden, NoticeContent("Water less", "It gets cooler."))
    send = EmailMultiAlternatives.send

    def meanwhile(self, fail_silently=False):
        monkeypatch.setattr(EmailMultiAlternatives, "send", send)
        jobs.ask_for("deliver-notice", notice.pk, asked_by=None, now=cast.NOW)
        work()
        return send(self)

    monkeypatch.setattr(EmailMultiAlternatives, "send", meanwhile)

    work()
    work(cast.NOW + dt.timedelta(seconds=settings.JOB_LEASE_S))

    assert (state(notice), notice.may_be_twice) == ("sent", False)
    assert len(mail.outbox) == 1


@pytest.mark.parametrize(
    "refusal",
    [(554, b"5.7.1 <ingrid@holm.example>: Relay access denied"),
     (550, b"5.7.1 Client host may not send here"), (552, b"5.2.2 The box is full"),
     (550, b"5.1.8 No such sender")],
    ids=lambda refusal: refusal[1].decode().split()[0],
)  # fmt: skip
def test_an_address_is_not_at_fault_for_what_the_server_has_against_us(
    garden, monkeypatch, refusal
):
    failing(monkeypatch, smtplib.SMTPRecipientsRefused({"ingrid@holm.example": refusal}))
    notice = queue(garden)

    work()

    assert (state(notice), Customer.objects.get().mail_block()) == ("queued", None)


def test_the_sweep_parks_what_killed_its_workers(garden, monkeypatch, settings):
    notice = queue(garden)

    def die(*_):
        raise WorkerDied

    monkeypatch.setitem(jobs._GATHERS, "notice-sheet", die)
    now = cast.NOW
    for _ in range(3):
        with pytest.raises(WorkerDied):
            work(now)
        now += dt.timedelta(hours=1)
    work(now)
    assert state(notice) == "queued"

    delivery.sweep_notices(now=now)

    assert (state(notice), notice.reason["code"]) == ("parked", "gave-up")
    assert delivery.sweep_notices(now=now) == 0


def test_the_name_of_the_company_cannot_add_a_header(garden, company):
    company.name = "Meadowlark\r\nBcc: else@where.example"
    company.save()
    notice = queue(garden)

    work()

    (sent,) = mail.outbox
    assert state(notice) == "sent"
    assert sent.message()["Bcc"] is None
    assert sent.recipients() == ["ingrid@holm.example"]
