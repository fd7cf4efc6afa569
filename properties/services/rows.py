"""Adding and changing business rows: one transaction, checked, remembered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction
from django.db.models import Model

from properties.domain.errors import RefusedError, StaleError
from properties.models import MeasuredRow, Row, StaffMember
from properties.selectors.retirement import is_retired
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
    _refuse_retired(row, row.needs_live)
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
    StaleError
        When somebody else changed the row in the meantime.
    """
    before = snapshot(row)
    changes = _with_entered(row, changes)
    read_revision = row.revision
    for name, value in {**changes, "changed_at": now, "revision": read_revision + 1}.items():
        setattr(row, name, value)
    _refuse_retired(row, [name for name in row.needs_live if name in changes])
    row.full_clean()
    names = {*changes, "changed_at", "revision"}
    fresh = {name: getattr(row, name) for name in names}
    stored = type(row)._base_manager.filter(pk=row.pk)
    if stored.filter(revision=read_revision).update(**fresh) != 1:
        raise StaleError(revision=stored.values_list("revision", flat=True).get())
    record_event(row, act=act, actor=actor, now=now, before=before, after=snapshot(row))
    return row


@transaction.atomic
def change_held(
    row: AnyRow,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember | None,
    now: datetime,
    act: str = "changed",
) -> AnyRow:
    """Hold a row, and write what differs from what the caller read."""
    held: AnyRow = type(row)._base_manager.select_for_update().get(pk=row.pk)
    return change_what_differs(
        held, changes, read_revision=read_revision, actor=actor, now=now, act=act
    )


def change_what_differs(
    held: AnyRow,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None,
    actor: StaffMember | None,
    now: datetime,
    act: str = "changed",
) -> AnyRow:
    """Write what differs; what is the same already is no change and no event."""
    changes = _with_entered(held, changes)
    fresh = {name: value for name, value in changes.items() if getattr(held, name) != value}
    if not fresh and read_revision in (None, held.revision):
        return held
    held.revision = held.revision if read_revision is None else read_revision
    return change_row(held, fresh, actor=actor, now=now, act=act)


def _with_entered(row: Row, changes: Mapping[str, Any]) -> dict[str, Any]:
    """Keep what was entered in step: a metric number that changes loses its old entered value."""
    if not isinstance(row, MeasuredRow):
        return dict(changes)
    kept = {name: value for name, value in row.entered.items() if name not in changes}
    return {**changes, "entered": {**kept, **changes.get("entered", {})}}


def _refuse_retired(row: Row, names: Iterable[str]) -> None:
    for name in names:
        named = getattr(row, name)
        if named is not None and is_retired(named):
            raise RefusedError(
                f"{named} is retired.",
                code="retired", field=name, remedy="Bring it back first, or choose another one.",
            )  # fmt: skip


def _refuse_taken_id(row: Model) -> None:
    if type(row)._base_manager.filter(pk=row.pk).exists():
        raise RefusedError(
            f"The id {row.pk} is taken.",
            code="id-taken", field="id", remedy="Make a new id, or read the row that has it.",
        )  # fmt: skip
