"""The licences of technicians."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Licence, Role, StaffMember
from properties.services.events import record_event, snapshot
from properties.services.plain_rows import change_plain_row


@transaction.atomic
def add_licence(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> Licence:
    """Note a licence of a technician who works here, and the days on which it holds."""
    if values["staff"].role != Role.TECHNICIAN:
        raise InvalidInputError(
            f"{values['staff'].name} is not a technician.",
            field="staff", remedy="Choose a member of staff of role technician.",
        )  # fmt: skip
    if not values["staff"].is_active:
        raise RefusedError(
            f"{values['staff'].name} does not work here any more.",
            code="retired", field="staff", remedy="Bring the person back first.",
        )  # fmt: skip
    licence = Licence(**values)
    licence.full_clean()
    licence.save(force_insert=True)
    record_event(licence, act="licensed", actor=actor, now=now, after=snapshot(licence))
    return licence


def change_licence(
    licence: Licence,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> Licence:
    """Put a licence right, take it out of use, or bring it back."""
    act = "retired" if changes.get("retired_at") else "changed"
    return change_plain_row(
        licence, changes, read_revision=read_revision, actor=actor, now=now, act=act
    )
