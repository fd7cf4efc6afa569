"""A notice for the tests of delivery, and ways in which it can go wrong."""

from __future__ import annotations

import datetime as dt
import smtplib

from django.core.mail import EmailMultiAlternatives

from properties.services import jobs
from scheduling.domain.notice_content import (
    CalendarEntry,
    NoticeContent,
    NoticeSection,
    NoticeTable,
)
from scheduling.models import Notice
from scheduling.services.notices import NoticeDraft, queue_notices
from tests import cast

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
