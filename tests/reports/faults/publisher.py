"""What a publishing process does: its business, with the real hint after the commit."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

from django.db import transaction
from django.test import Client
from django.utils import timezone

from scheduling.domain.notice_content import NoticeContent, NoticeSection
from scheduling.services.notices import NoticeDraft, queue_notices

CONTENT = NoticeContent(
    "Water less", "It gets cooler.", (NoticeSection("What to change", ("14 min.",)),),
    has_sheet=True,
)  # fmt: skip


def drafts(count: int, *, customer_id: UUID, property_id: UUID) -> list[NoticeDraft]:
    return [
        NoticeDraft(
            key=f"told:{number}", kind="monthly", content=CONTENT,
            customer_id=customer_id, property_id=property_id,
        )
        for number in range(count)
    ]  # fmt: skip


def queue(*, count: int, customer_id: str, property_id: str, answer: str) -> None:
    """Queue notices in one transaction, and tell how long that took."""

    def business() -> dict[str, Any]:
        with transaction.atomic():
            whose = {"customer_id": UUID(customer_id), "property_id": UUID(property_id)}
            return {"queued": queue_notices(drafts(count, **whose), now=timezone.now())}

    tell(business, answer)


def post(*, path: str, token: str, answer: str) -> None:
    """Send a request through the whole application, and tell how long it took.

    One before it loads what the first request of a process loads.
    """
    client = Client()
    client.get("/healthz")

    def business() -> dict[str, Any]:
        reply = client.post(path, headers={"Authorization": f"Bearer {token}"})
        return {"status": reply.status_code}

    tell(business, answer)


def tell(business: Callable[[], dict[str, Any]], answer: str) -> None:
    began = time.perf_counter()
    said = business()
    said["seconds"] = time.perf_counter() - began
    draft = Path(answer).with_suffix(".draft")
    draft.write_text(json.dumps(said))
    draft.replace(answer)
