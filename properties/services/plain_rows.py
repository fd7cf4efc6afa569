"""Changing rows that have a revision, and no moments of their own."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

from django.db import transaction

from properties.domain.errors import StaleError
from properties.models import Licence, StaffMember
from properties.services.events import record_event, snapshot

AnyPlain = TypeVar("AnyPlain", StaffMember, Licence)


@transaction.atomic
def change_plain_row(
    row: AnyPlain,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember | None,
    now: datetime,
    act: str = "changed",
) -> AnyPlain:
    """Hold a row, write what differs, and the event; what is the same already is no change."""
    held: AnyPlain = type(row)._base_manager.select_for_update().get(pk=row.pk)
    if read_revision not in (None, held.revision):
        raise StaleError(revision=held.revision)
    fresh: dict[str, Any] = {
        name: value for name, value in changes.items() if getattr(held, name) != value
    }
    if not fresh:
        return held
    before = snapshot(held)
    for name, value in {**fresh, "revision": held.revision + 1}.items():
        setattr(held, name, value)
    held.full_clean(exclude=["password"])
    held.save(update_fields=[*fresh, "revision"])
    record_event(held, act=act, actor=actor, now=now, before=before, after=snapshot(held))
    return held
