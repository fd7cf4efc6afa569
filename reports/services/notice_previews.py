"""Previews: a notice is made as it is queued and rendered as it is sent; then all is taken back."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from properties.models import Property
from reports.models import Document
from reports.services.delivery import block_of, mail_of
from reports.services.notice_sheets import sheet_bytes
from scheduling.models import Notice
from scheduling.services.monthly_notices import monthly_notice_of


@dataclass(frozen=True)
class NoticePreview:
    """Subject, bodies and files of a message; `why_not` is empty if it would go out."""

    period: dt.date
    why_not: str
    subject: str
    text: str
    html: str
    calendar: str
    pdf: bytes

    @property
    def would_go_out(self) -> bool:
        return not self.why_not


def preview_monthly(garden: Property, period: dt.date | None, *, now: dt.datetime) -> NoticePreview:
    """Return the monthly notice of a property, by default that of the month which is due.

    One that was queued already is shown as it was frozen.

    Raises
    ------
    RefusedError
        Code "no-plan" where no zone of the property is planned.
    """
    with transaction.atomic():
        notice = monthly_notice_of(garden, period, now=now)
        preview = _rendered(notice, now)
        transaction.set_rollback(True)
    return preview


def _rendered(notice: Notice, now: dt.datetime) -> NoticePreview:
    stored = Document.objects.filter(notice=notice).first()
    pdf = bytes(stored.pdf) if stored else sheet_bytes(notice)
    message = mail_of(notice, pdf, now=now)
    block = block_of(notice)
    files = {name: content for name, content, _ in message.attachments}
    assert notice.period is not None
    return NoticePreview(
        period=notice.period,
        why_not=block[1] if block else "",
        subject=str(message.subject),
        text=str(message.body),
        html=str(message.alternatives[0][0]),
        calendar=str(files.get("watering.ics", "")),
        pdf=pdf,
    )
