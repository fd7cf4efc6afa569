"""The licences of technicians."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from properties.domain.errors import InvalidInputError
from properties.models import Licence, Role, StaffMember
from properties.services.events import record_event, snapshot


@transaction.atomic
def add_licence(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> Licence:
    """Note a licence of a technician, and the days on which it holds."""
    if values["staff"].role != Role.TECHNICIAN:
        raise InvalidInputError(
            f"{values['staff'].name} is not a technician.",
            field="staff", remedy="Choose a member of staff of role technician.",
        )  # fmt: skip
    licence = Licence(**values)
    licence.full_clean()
    licence.save(force_insert=True)
    record_event(licence, act="licensed", actor=actor, now=now, after=snapshot(licence))
    return licence
