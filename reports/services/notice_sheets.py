"""The PDF sheets of notices: made once, before the message, from what was frozen."""

from __future__ import annotations

import hashlib
from datetime import datetime
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import transaction

from properties.selectors.company import the_company
from properties.services.jobs import ask_for
from properties.services.rows import add_row
from reports.domain.formats import spelled_date
from reports.models import Document, DocumentKind
from reports.pdf.notice_sheet import render_notice_sheet
from reports.selectors.letters import letter_of, units_of
from reports.services.job_kinds import DELIVER_NOTICE
from scheduling.models import Notice

_TITLE: Final = 300


def render_sheet(notice_id: UUID, now: datetime) -> bytes | None:
    """Render the sheet of a notice, before the transaction of its job; None if there is one."""
    if Document.objects.filter(notice_id=notice_id).exists():
        return None
    return sheet_bytes(Notice.objects.select_related("customer", "property").get(pk=notice_id))


def sheet_bytes(notice: Notice) -> bytes:
    """Return the sheet of a notice; the same one each time."""
    system = units_of(notice)
    zone = ZoneInfo(notice.property.time_zone if notice.property else the_company().time_zone)
    made = notice.created_at.astimezone(zone).date()
    return render_notice_sheet(
        letter_of(notice),
        place=", ".join(notice.property.address_lines()) if notice.property else "",
        date=spelled_date(made, system),
        system=system,
    )


@transaction.atomic
def store_sheet(notice_id: UUID, now: datetime, pdf: bytes | None) -> dict[str, Any]:
    """Store the sheet, and ask for the message that it goes with.

    A client who was erased while it was rendered has no sheet any more.
    """
    notice = Notice.objects.select_for_update().get(pk=notice_id)
    is_known = Document.objects.filter(notice=notice).exists()
    if pdf is not None and notice.content["has_sheet"] and not is_known:
        values = {
            "kind": DocumentKind.NOTICE_SHEET,
            "property": notice.property,
            "notice": notice,
            "number": 1,
            "title": notice.content["subject"][:_TITLE],
            "content_digest": notice.content_digest,
            "sha256": hashlib.sha256(pdf).hexdigest(),
            "size_bytes": len(pdf),
            "pdf": pdf,
        }
        add_row(Document, values, actor=None, now=now, act="rendered")
    ask_for(DELIVER_NOTICE, notice.pk, asked_by=None, now=now)
    return {"notice": str(notice.pk)}
