"""Adding and changing rows by the hundred, each with its event, as `rows` does one by one.

Whoever calls has judged the rows already (`models/check_values.py`, fields, uniqueness); what he
overlooked the database refuses, and the caller's transaction with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import transaction

from properties.domain.errors import StaleError
from properties.models import Event, MeasuredRow, Row, StaffMember
from properties.services.events import event_about, snapshot

_BATCH = 500


class Change(NamedTuple):
    """New values of a row by field (references by `_id`), at the revision that was read."""

    row_id: UUID
    revision: int
    values: Mapping[str, Any]


@transaction.atomic
def add_rows(rows: Sequence[Row], *, actor: StaffMember | None, now: datetime, act: str) -> None:
    """Create rows of one model, and an event for each."""
    for row in rows:
        row.created_at = row.changed_at = now
    if rows:
        type(rows[0])._base_manager.bulk_create(rows, batch_size=_BATCH)
    _record(event_about(row, act=act, actor=actor, now=now, after=snapshot(row)) for row in rows)


@transaction.atomic
def change_rows(
    model: type[Row],
    changes: Sequence[Change],
    *,
    actor: StaffMember | None,
    now: datetime,
    act: str,
) -> None:
    """Change rows of one model, each at the revision that was read, and write an event for each.

    Raises
    ------
    StaleError
        When somebody else changed one of them in the meantime.
    """
    held = model._base_manager.select_for_update().in_bulk([change.row_id for change in changes])
    events, names = [], {"changed_at", "revision"}
    for change in changes:
        row = held[change.row_id]
        if row.revision != change.revision:
            raise StaleError(revision=row.revision)
        before = snapshot(row)
        names |= _apply(row, change.values, now)
        events.append(
            event_about(row, act=act, actor=actor, now=now, before=before, after=snapshot(row))
        )
    if changes:
        fields = sorted(names)
        model._base_manager.bulk_update(list(held.values()), fields, batch_size=_BATCH)
    _record(events)


def _apply(row: Row, values: Mapping[str, Any], now: datetime) -> set[str]:
    """Set the values; a quantity that changes loses its old entered value for the new one."""
    values = dict(values)
    if isinstance(row, MeasuredRow):
        kept = {name: value for name, value in row.entered.items() if name not in values}
        values["entered"] = {**kept, **values.get("entered", {})}
    for name, value in values.items():
        setattr(row, name, value)
    row.changed_at = now
    row.revision += 1
    return set(values)


def _record(events: Iterable[Event]) -> None:
    Event.objects.bulk_create(events, batch_size=_BATCH)
