"""Writing the company's memory, in the transaction of the act that it remembers."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.db import models

from properties.models import Event, StaffMember

NOT_KEPT: Final = "(not kept)"
_UNWATCHED: Final = frozenset({"created_at", "changed_at", "revision"})


def record_event(
    subject: models.Model,
    *,
    act: str,
    actor: StaffMember | None,
    now: datetime,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> Event:
    """Append one event about a row; `before` and `after` are field snapshots of it.

    That a personal field changed is remembered, its values are not.
    """
    event = event_about(subject, act=act, actor=actor, now=now, before=before, after=after)
    event.save(force_insert=True)
    return event


def event_about(
    subject: models.Model,
    *,
    act: str,
    actor: StaffMember | None,
    now: datetime,
    before: dict[str, Any] | None = None,
    after: dict[str, Any] | None = None,
) -> Event:
    """Return the event that `record_event` appends, for whoever appends many at once."""
    old, new = before or {}, after or {}
    changed = {name for name in old.keys() | new.keys() if old.get(name) != new.get(name)}
    unlogged: frozenset[str] = getattr(subject, "unlogged", frozenset())
    return Event(
        at=now,
        actor=actor,
        act=act,
        subject_kind=subject._meta.label_lower,
        subject_id=subject.pk,
        before=_kept(old, sorted(changed & old.keys()), unlogged),
        after=_kept(new, sorted(changed & new.keys()), unlogged),
    )


def snapshot(row: models.Model) -> dict[str, Any]:
    """Return a row's own fields as JSON values, for `record_event`, which drops personal ones."""
    return {
        field.name: _plain(field.value_from_object(row))
        for field in row._meta.concrete_fields
        if field.name not in _UNWATCHED and not field.primary_key
    }


def _kept(values: dict[str, Any], names: list[str], unlogged: frozenset[str]) -> dict[str, Any]:
    return {
        name: NOT_KEPT if name in unlogged and values[name] not in (None, "") else values[name]
        for name in names
    }


def _plain(value: Any) -> Any:
    if isinstance(value, UUID | Decimal):
        return str(value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, bytes | memoryview):
        return f"{memoryview(value).nbytes} bytes"
    return value
