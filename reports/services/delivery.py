"""Sending notices: each once, or twice under one Message-ID where a sender died.

1. Whoever queues a notice has a job asked for: its sheet first, if it has one, then its delivery.
2. Before the message goes out it is asked whether it still may: the switch, the client's word, his
   address, the day's quota.
3. That it goes out is committed before, that it went out together with the end of the job.
4. A failure that may pass is tried again, later each time; after the last one the notice is parked.
5. Two jobs of one notice may run at once, since anybody may ask for one while another runs: what is
   being sent is left alone until that sender's lease is over.
"""

from __future__ import annotations

import datetime as dt
import re
import smtplib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.db.models import Exists, OuterRef

from properties.domain.errors import RefusedError
from properties.models import Job, JobState
from properties.selectors.company import the_company
from properties.services.jobs import NotYetError, ask_for_each
from properties.services.mail_consent import refuse_address
from reports.models import Document
from reports.selectors.letters import letter_of
from reports.services.job_kinds import DELIVER_NOTICE, NOTICE_SHEET, OF_NOTICES
from reports.services.links import stop_url
from reports.services.mail_messages import message_of
from scheduling.models import Notice, NoticeState
from scheduling.services import notices

STOPPED_FOR: Final = dt.timedelta(minutes=10)
SWEPT_AT_ONCE: Final = 500
_PEOPLE: Final = ("customer", "staff", "property")
_NO_MAILBOX: Final = (550, 551, 553)  # RFC 5321, 4.2.3; 554 is also said to whom may not relay
_STATUS: Final = re.compile(rb"5\.\d{1,3}\.\d{1,3}")
_BAD_ADDRESS: Final = (b"5.1.1", b"5.1.2", b"5.1.3", b"5.1.6", b"5.1.10", b"5.2.1")
"""RFC 3463, and RFC 7505 for 5.1.10; others, such as 5.7.1, say nothing against the address."""


@dataclass(frozen=True)
class Outcome:
    """What became of an attempt: sent with that sheet, or held back for a reason."""

    sheet_sha256: str = ""
    held: tuple[str, str] | None = None
    refused_address: str = ""


@transaction.atomic
def ask_for_delivery(notice_ids: Iterable[UUID], *, now: dt.datetime) -> None:
    """Have notices sent, each after its sheet if it has one."""
    notices_asked = Notice.objects.filter(pk__in=list(notice_ids))
    with_sheet = notices_asked.filter(content__has_sheet=True).values_list("pk", flat=True)
    without = notices_asked.exclude(content__has_sheet=True).values_list("pk", flat=True)
    ask_for_each(NOTICE_SHEET, with_sheet, now=now)
    ask_for_each(DELIVER_NOTICE, without, now=now)


def deliver(notice_id: UUID, now: dt.datetime) -> Outcome | None:
    """Send the message of a notice, before the transaction of its job; None if nothing is to do."""
    notice = Notice.objects.select_related(*_PEOPLE).get(pk=notice_id)
    if not notice.is_open():
        return None
    if notice.state == NoticeState.SENDING and not _may_go_once_more(notice, now):
        return None
    if notices.are_stopped():
        raise NotYetError(now + STOPPED_FOR, "Notices are stopped.")
    if block := block_of(notice):
        return Outcome(held=block)
    sheet = _sheet_of(notice)
    message = mail_of(notice, bytes(sheet.pdf) if sheet else None, now=now)
    _take_of_quota(now)
    if not notices.begin_sending(notice, now=now):
        return None
    return _sent(notice, message, sheet, now)


def settle(notice_id: UUID, now: dt.datetime, outcome: Outcome | None) -> dict[str, Any]:
    """Write down what became of it, together with the end of the job."""
    notice = Notice.objects.get(pk=notice_id)
    if outcome is None:
        return {"state": notice.state}
    if outcome.held is None:
        notices.mark_sent(notice, sheet_sha256=outcome.sheet_sha256, now=now)
    else:
        code, detail = outcome.held
        notices.hold(notice, code=code, detail=detail, now=now)
    if outcome.refused_address and notice.customer_id:
        refuse_address(notice.customer_id, outcome.refused_address, now=now)
    return {"state": notice.state}


def mail_of(notice: Notice, sheet: bytes | None, *, now: dt.datetime) -> EmailMultiAlternatives:
    """Return the message as it goes out."""
    stop = stop_url(notice.customer_id, now=now) if notice.customer_id else ""
    person = notice.customer or notice.staff
    return message_of(
        notice,
        letter_of(notice, stop_url=stop),
        address=person.email if person else "",
        sheet=sheet,
    )


def block_of(notice: Notice) -> tuple[str, str] | None:
    """Return why the reader is not to get it now, as code and sentence, or None."""
    if notice.customer is not None:
        block = notice.customer.mail_block()
        return (block.value, str(block.label)) if block else None
    if notice.staff is not None and not notice.staff.is_active:
        return "left", "The colleague has left."
    return None


def sweep_notices(*, now: dt.datetime) -> int:
    """Bring open notices that no job is at back on their way, or park those that gave up.

    A job is lost with its queue, or parked after its worker died again and again.
    """
    at_work = Job.objects.filter(
        kind__in=OF_NOTICES,
        subject_id=OuterRef("pk"),
        state__in=(JobState.WAITING, JobState.RUNNING),
    )
    forgotten = list(
        Notice.objects.filter(state__in=(NoticeState.QUEUED, NoticeState.SENDING))
        .exclude(Exists(at_work))
        .order_by("pk")[:SWEPT_AT_ONCE]
    )
    lost = [notice.pk for notice in forgotten if not _is_given_up(notice, now)]
    ask_for_delivery(lost, now=now)
    return len(forgotten)


def _is_given_up(notice: Notice, now: dt.datetime) -> bool:
    """Park a notice whose newest job was parked; whether it was."""
    jobs = Job.objects.filter(kind__in=OF_NOTICES, subject_id=notice.pk)
    newest = jobs.filter(ended_at__gte=notice.changed_at).order_by("-id").first()
    if newest is None or newest.state != JobState.PARKED:
        return False
    problem = newest.problem
    notices.give_up(notice, code=problem.get("code", ""), detail=problem.get("detail", ""), now=now)
    return True


def _may_go_once_more(notice: Notice, now: dt.datetime) -> bool:
    """Whether to send what somebody was sending; not before it is sure that he is dead."""
    lease_ends = notice.changed_at + dt.timedelta(seconds=settings.JOB_LEASE_S)
    if now < lease_ends:
        raise NotYetError(lease_ends, "Another worker is sending it.")
    if notice.may_be_twice:
        detail = "Its senders died twice; it may have arrived."
        notices.give_up(notice, code="sent-unseen", detail=detail, now=now)
        return False
    return True


def _sheet_of(notice: Notice) -> Document | None:
    if not notice.content["has_sheet"]:
        return None
    sheet = Document.objects.filter(notice=notice).first()
    if sheet is None:
        raise RefusedError(
            "The sheet of this notice was not made.",
            code="no-sheet", remedy="Have the notice tried again.",
        )  # fmt: skip
    return sheet


def _take_of_quota(now: dt.datetime) -> None:
    today = _today(now)
    if notices.take_of_quota(today):
        return
    zone = ZoneInfo(the_company().time_zone)
    tomorrow = dt.datetime.combine(today + dt.timedelta(days=1), dt.time(), zone)
    raise NotYetError(tomorrow.astimezone(dt.UTC), "The quota of the day is used up.")


def _today(now: dt.datetime) -> dt.date:
    return now.astimezone(ZoneInfo(the_company().time_zone)).date()


def _sent(
    notice: Notice, message: EmailMultiAlternatives, sheet: Document | None, now: dt.datetime
) -> Outcome | None:
    try:
        message.send()
    except smtplib.SMTPRecipientsRefused as refusal:
        if _is_final(refusal):
            detail = "The mail server refused the address for good."
            return Outcome(held=("refused-address", detail), refused_address=message.to[0])
        _come_back_later(notice, refusal, now)
        return None
    except (OSError, smtplib.SMTPException) as failure:
        _come_back_later(notice, failure, now)
        return None
    return Outcome(sheet_sha256=sheet.sha256 if sheet else "")


def _is_final(refusal: smtplib.SMTPRecipientsRefused) -> bool:
    return all(_is_bad_address(code, words) for code, words in refusal.recipients.values())


def _is_bad_address(code: int, words: bytes) -> bool:
    """Whether it is the address that is no good, and not we who may not send or the box is full."""
    status = _STATUS.match(words)
    return code in _NO_MAILBOX and (status is None or status[0] in _BAD_ADDRESS)


def _come_back_later(notice: Notice, failure: Exception, now: dt.datetime) -> None:
    """Note a failure that may pass, and come back later; the server's words may name people."""
    code = getattr(failure, "smtp_code", "")
    detail = " ".join(filter(None, (type(failure).__name__, str(code))))
    may_be_out = isinstance(failure, smtplib.SMTPServerDisconnected)
    if not may_be_out:
        notices.give_back_to_quota(_today(now))
    notices.mark_failed(notice, code="mail-failed", detail=detail, now=now, may_be_out=may_be_out)
    if notice.state == NoticeState.PARKED:
        return
    pause_s = settings.NOTICE_RETRY_S * 2 ** (notice.attempts - 1)
    raise NotYetError(now + dt.timedelta(seconds=pause_s), detail) from failure
