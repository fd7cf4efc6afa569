"""Adding and changing zones: the controller must hang on the zone's own property."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from properties.domain.errors import InvalidInputError
from properties.models import Controller, StaffMember, Zone
from properties.services.rows import add_row, change_held


def add_zone(values: Mapping[str, Any], *, actor: StaffMember | None, now: datetime) -> Zone:
    """Create a zone of a property, on one of that property's controllers or on none."""
    _check_controller(values.get("controller"), values["property"].pk)
    return add_row(Zone, values, actor=actor, now=now)


@transaction.atomic
def change_zone(
    zone: Zone,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> Zone:
    """Change a zone; what is planned and computed of it follows."""
    _check_controller(changes.get("controller"), zone.property_id)
    return change_held(zone, changes, read_revision=read_revision, actor=actor, now=now)


def _check_controller(controller: Controller | None, property_id: UUID) -> None:
    if controller is not None and controller.property_id != property_id:
        raise InvalidInputError(
            "This controller hangs at another property.",
            field="controller", remedy="Choose a controller of the zone's own property.",
        )  # fmt: skip
