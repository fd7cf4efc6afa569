"""Notices whose mail server fails, or whose sender dies."""

from __future__ import annotations

import datetime as dt
import smtplib

import pytest
from django.core import mail
from django.core.mail import EmailMultiAlternatives

from properties.models import Customer, Job
from properties.services import jobs
from reports.models import Document
from reports.services import delivery
from scheduling.domain.notice_content import NoticeContent
from scheduling.services import notices
from tests import cast
from tests.reports.services.notice_mail import (
    GREYLISTED,
    MINUTE,
    NOBODY,
    WorkerDied,
    failing,
    queue,
    state,
    work,
)

pytestmark = pytest.mark.django_db


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
