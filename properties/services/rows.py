"""Adding and changing business rows: one transaction, checked, remembered."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import Model

from properties.domain.errors import RefusedError
from properties.models import MeasuredRow, Row, StaffMember
from properties.services.events import record_event, snapshot

AnyRow = TypeVar("AnyRow", bound=Row)


@transaction.atomic
def add_row(
    model: type[AnyRow],
    values: Mapping[str, Any],
    *,
    actor: StaffMember | None,
    now: datetime,
    act: str = "created",
) -> AnyRow:
    """Create a row and its event; an id that is taken is refused, never overwritten."""
    row = model(**values, created_at=now, changed_at=now)
    _refuse_taken_id(row)
    row.full_clean(validate_unique=True)
    row.save(force_insert=True)
    record_event(row, act=act, actor=actor, now=now, after=snapshot(row))
    return row


@transaction.atomic
def change_row(
    row: AnyRow,
    changes: Mapping[str, Any],
    *,
    actor: StaffMember | None,
    now: datetime,
    act: str = "changed",
) -> AnyRow:
    """Change a row at the revision that was read, and write the event.

    Raises
    ------
    RefusedError
        When somebody else changed the row in the meantime.
    """
    before = snapshot(row)
    changes = _with_entered(row, changes)
    read_revision = row.revision
    for name, value in {**changes, "changed_at": now, "revision": read_revision + 1}.items():
        setattr(row, name, value)
    row.full_clean()
    names = {*changes, "changed_at", "revision"}
    fresh = {name: getattr(row, name) for name in names}
    updated = type(row)._default_manager.filter(pk=row.pk, revision=read_revision).update(**fresh)
    if updated != 1:
        raise RefusedError(
            "Somebody else changed this in the meantime.",
            code="changed-meanwhile", remedy="Read it again, then repeat your change.",
        )  # fmt: skip
    record_event(row, act=act, actor=actor, now=now, before=before, after=snapshot(row))
    return row


def _with_entered(row: Row, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Keep what was entered in step: a metric number that changes loses its old entered value."""
    if not isinstance(row, MeasuredRow):
        return dict(changes)
    kept = {name: value for name, value in row.entered.items() if name not in changes}
    return {**changes, "entered": {**kept, **changes.get("entered", {})}}


def _refuse_taken_id(row: Model) -> None:
    if type(row)._default_manager.filter(pk=row.pk).exists():
        raise RefusedError(
            f"The id {row.pk} is taken.",
            code="id-taken", field="id", remedy="Make a new id, or read the row that has it.",
        )  # fmt: skip
