"""Doing a request once however often it comes.

1. The request is held by its key for the length of the transaction, so that of two at once one
   works and the other is told to wait. (SQLite has one writer at a time: there it waits.)
2. What was done under the key before is answered again; another request under it is refused.
3. Else it is done, and the answer is kept in the same transaction as its effect: who dies in
   between leaves neither.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from django.db import connection, transaction

from properties.domain.errors import KeyReusedError, RefusedError
from properties.models import IdempotencyKey, StaffMember

KEPT: Final = timedelta(days=30)
FORGOTTEN_AT_ONCE: Final = 1000


@dataclass(frozen=True)
class Asked:
    """A request: who sent it, under which key, and a digest of all that it says."""

    caller: StaffMember | None
    key: str
    request_sha256: str


@dataclass(frozen=True)
class Answer:
    """What is kept of an answer."""

    status: int
    body: Any


class StillRunningError(RefusedError):
    """The first request of this key is not done yet."""


def digest_of(*parts: Any) -> str:
    """Return by what a request is known again, whatever the spacing and the order of its fields."""
    text = json.dumps(parts, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()


@transaction.atomic
def answer_once(asked: Asked, act: Callable[[], Answer], *, now: datetime) -> tuple[Answer, bool]:
    """Return the answer to a request, and whether it was done before."""
    _hold(asked)
    if known := known_answer(asked):
        return known, True
    answer = act()
    keep_answer(asked, answer, now=now)
    return answer, False


def known_answer(asked: Asked) -> Answer | None:
    """Return what was answered under the key, or None.

    Raises
    ------
    KeyReusedError
        When the key stands for another request.
    """
    known = IdempotencyKey.objects.filter(caller=asked.caller, key=asked.key).first()
    if known is None:
        return None
    if known.request_sha256 != asked.request_sha256:
        raise KeyReusedError(
            "This Idempotency-Key stands for another request.",
            code="key-reused", remedy="Make a new key for every request that is not a repeat.",
        )  # fmt: skip
    return Answer(known.status, known.body)


def keep_answer(asked: Asked, answer: Answer, *, now: datetime) -> None:
    """Keep an answer for thirty days, in the transaction of what it tells of."""
    IdempotencyKey.objects.create(
        caller=asked.caller, key=asked.key, request_sha256=asked.request_sha256,
        status=answer.status, body=answer.body, created_at=now,
    )  # fmt: skip


def forget_old_answers(*, now: datetime) -> int:
    """Delete what was kept for thirty days, so many at once; looked at each minute."""
    old = IdempotencyKey.objects.filter(created_at__lt=now - KEPT).order_by("created_at")
    keys = list(old.values_list("pk", flat=True)[:FORGOTTEN_AT_ONCE])
    return IdempotencyKey.objects.filter(pk__in=keys).delete()[0] if keys else 0


def _hold(asked: Asked) -> None:
    if connection.vendor != "postgresql":
        return
    caller = asked.caller.pk if asked.caller else None
    number = int.from_bytes(bytes.fromhex(digest_of(caller, asked.key))[:8], signed=True)
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [number])
        (is_ours,) = cursor.fetchone()
    if not is_ours:
        raise StillRunningError(
            "The first request with this Idempotency-Key is still running.",
            code="still-running", remedy="Send it again, with the same key, in a few seconds.",
        )  # fmt: skip
