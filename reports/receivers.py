"""What this app does when it hears of things below."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from properties.services.jobs import ask_for
from reports.services.delivery import ask_for_delivery
from reports.services.documents import AUDIT_SUMMARY_JOB


def ask_for_summary(sender: Any, *, visit_id: UUID, now: datetime, **_: Any) -> None:
    """Once the plans after a visit stand, its summary can be printed."""
    ask_for(AUDIT_SUMMARY_JOB, visit_id, asked_by=None, now=now)


def send_notices(sender: Any, *, notice_ids: list[UUID], now: datetime, **_: Any) -> None:
    """What was queued is to be rendered and sent."""
    ask_for_delivery(notice_ids, now=now)
