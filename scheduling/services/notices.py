"""The life of a notice: queued once, then sent, held back or given up, and tried again on request.

    queued -> sending -> sent
       |         |-> queued      not now; tried again until the attempts are used up
       |         '-> parked      given up; the office sees why
       '-> held                  not to be sent: no consent, no address, stopped

A notice that is still `sending` when the lease of its job is over was left so by a sender that
died: the message may be out. It is sent once more under the same Message-ID, and marked; when that
sender dies too, it is parked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Final
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import F

from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.ids import uuid7
from properties.models import Company, StaffMember
from properties.selectors.company import the_company
from properties.services.events import record_event
from properties.services.rows import change_row
from scheduling.domain.notice_content import NoticeContent
from scheduling.models import MailDay, Notice, NoticeState
from scheduling.signals import notices_queued

BATCH: Final = 200
_OPEN: Final = (NoticeState.QUEUED, NoticeState.SENDING)


@dataclass(frozen=True, kw_only=True)
class NoticeDraft:
    """A notice to be queued; `key` says what it is about, and to whom."""

    key: str
    kind: str
    content: NoticeContent
    customer_id: UUID | None = None
    staff_id: UUID | None = None
    property_id: UUID | None = None
    period: dt.date | None = None
    language: str = "en"
    issue: int = 1

    def __post_init__(self) -> None:
        if (self.customer_id is None) == (self.staff_id is None):
            raise InvalidInputError(
                "A notice goes to a client or to a colleague.",
                field="customer_id", code="one-person", remedy="Name just one of them.",
            )  # fmt: skip
        if self.content.has_sheet and self.property_id is None:
            raise InvalidInputError(
                "A sheet is that of a property.",
                field="property_id", code="sheet-of-nothing", remedy="Name the property.",
            )  # fmt: skip


def queue_notices(drafts: Iterable[NoticeDraft], *, now: dt.datetime) -> int:
    """Queue the notices whose key nobody queued before; return how many those were.

    The drafts are taken a bounded number at a time, each batch in a transaction of its own: a
    process that dies leaves whole batches, and the next one queues the rest.
    """
    remaining = iter(drafts)
    queued = 0
    while batch := list(islice(remaining, BATCH)):
        queued += _queue_batch(batch, now)
    return queued


@transaction.atomic
def _queue_batch(drafts: list[NoticeDraft], now: dt.datetime) -> int:
    taken = set(
        Notice.objects.filter(key__in=[draft.key for draft in drafts]).values_list("key", flat=True)
    )
    fresh = list(_rows((draft for draft in drafts if draft.key not in taken), now))
    Notice.objects.bulk_create(fresh, ignore_conflicts=True)
    ours = list(
        Notice.objects.filter(pk__in=[row.pk for row in fresh]).values_list("pk", flat=True)
    )
    if ours:
        notices_queued.send(Notice, notice_ids=ours, now=now)
    return len(ours)


def _rows(drafts: Iterable[NoticeDraft], now: dt.datetime) -> Iterator[Notice]:
    host = urlsplit(settings.PUBLIC_URL).hostname
    for draft in drafts:
        notice_id = uuid7()
        yield Notice(
            id=notice_id,
            created_at=now,
            changed_at=now,
            key=draft.key,
            issue=draft.issue,
            kind=draft.kind,
            customer_id=draft.customer_id,
            staff_id=draft.staff_id,
            property_id=draft.property_id,
            period=draft.period,
            language=draft.language,
            content=draft.content.as_json(),
            content_digest=draft.content.digest(),
            message_id=f"<{notice_id}@{host}>",
        )


def begin_sending(notice: Notice, *, now: dt.datetime) -> bool:
    """Note that the message goes to the mail server now; whether it was ours to send.

    Committed before the message goes out, so that a sender that dies is seen.
    """
    left_so = notice.state == NoticeState.SENDING
    return _move(
        notice,
        now,
        state=NoticeState.SENDING,
        attempts=F("attempts") + 1,
        may_be_twice=notice.may_be_twice or left_so,
    )


def mark_sent(notice: Notice, *, sheet_sha256: str, now: dt.datetime) -> bool:
    """Note that the mail server took the message."""
    return _move(notice, now, state=NoticeState.SENT, sent_at=now, sheet_sha256=sheet_sha256)


def hold(notice: Notice, *, code: str, detail: str, now: dt.datetime) -> bool:
    """Note why the message is not to be sent."""
    return _move(notice, now, state=NoticeState.HELD, reason={"code": code, "detail": detail})


def mark_failed(
    notice: Notice, *, code: str, detail: str, now: dt.datetime, may_be_out: bool = False
) -> bool:
    """Note that an attempt failed; after the last one the notice is given up.

    `may_be_out`: the mail server had the message and was gone before it answered.
    """
    last = notice.attempts >= settings.NOTICE_ATTEMPTS
    return _move(
        notice,
        now,
        state=NoticeState.PARKED if last else NoticeState.QUEUED,
        reason={"code": code, "detail": detail},
        may_be_twice=notice.may_be_twice or may_be_out,
    )


def give_up(notice: Notice, *, code: str, detail: str, now: dt.datetime) -> bool:
    """Note that nobody goes on trying."""
    return _move(notice, now, state=NoticeState.PARKED, reason={"code": code, "detail": detail})


@transaction.atomic
def try_again(notice: Notice, *, actor: StaffMember | None, now: dt.datetime) -> Notice:
    """Queue a notice anew that was held back or given up."""
    ended = (NoticeState.HELD, NoticeState.PARKED)
    changes = {"state": NoticeState.QUEUED, "attempts": 0, "reason": {}, "changed_at": now}
    if not Notice.objects.filter(pk=notice.pk, state__in=ended).update(**changes):
        raise RefusedError(
            "Only a notice that was held back or given up can be tried again.",
            code="notice-not-ended", remedy="Wait for it to be sent.",
        )  # fmt: skip
    before = {"state": notice.state, "reason": notice.reason.get("code", "")}
    record_event(
        notice, act="tried again", actor=actor, now=now,
        before=before, after={"state": NoticeState.QUEUED.value},
    )  # fmt: skip
    notices_queued.send(Notice, notice_ids=[notice.pk], now=now)
    return Notice.objects.get(pk=notice.pk)


def pause_notices(*, actor: StaffMember | None, now: dt.datetime) -> Company:
    """Let no notice go out until `resume_notices`; what is queued waits."""
    return _switch(now, actor=actor, now=now, act="notices paused")


def resume_notices(*, actor: StaffMember | None, now: dt.datetime) -> Company:
    """Let notices go out again; those that waited follow within some minutes."""
    return _switch(None, actor=actor, now=now, act="notices resumed")


def are_stopped() -> bool:
    """Whether notices are held, by the installation's setting or by the office."""
    return bool(settings.NOTICES_STOPPED) or the_company().notices_paused_at is not None


@transaction.atomic
def _switch(
    moment: dt.datetime | None, *, actor: StaffMember | None, now: dt.datetime, act: str
) -> Company:
    company = Company.objects.select_for_update().get()
    if (company.notices_paused_at is None) == (moment is None):
        return company
    return change_row(company, {"notices_paused_at": moment}, actor=actor, now=now, act=act)


def take_of_quota(date: dt.date) -> bool:
    """Take one message of a local day's quota; whether there was one left."""
    MailDay.objects.get_or_create(date=date)
    left = MailDay.objects.filter(date=date, taken__lt=settings.NOTICES_A_DAY)
    return bool(left.update(taken=F("taken") + 1))


def give_back_to_quota(date: dt.date) -> None:
    """Give back what was taken for a message that the mail server did not take."""
    MailDay.objects.filter(date=date, taken__gt=0).update(taken=F("taken") - 1)


def _move(notice: Notice, now: dt.datetime, **changes: object) -> bool:
    """Change an open notice that nobody else changed since it was read."""
    ours = Notice.objects.filter(pk=notice.pk, state__in=_OPEN, attempts=notice.attempts)
    if not ours.update(changed_at=now, **changes):
        return False
    notice.refresh_from_db()
    return True
