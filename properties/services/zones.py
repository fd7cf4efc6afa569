"""Adding zones: the controller must hang on the zone's own property."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from properties.domain.errors import InvalidInputError
from properties.models import StaffMember, Zone
from properties.services.rows import add_row


def add_zone(values: Mapping[str, Any], *, actor: StaffMember | None, now: datetime) -> Zone:
    """Create a zone of a property, on one of that property's controllers or on none."""
    controller = values.get("controller")
    if controller is not None and controller.property_id != values["property"].pk:
        raise InvalidInputError(
            "This controller hangs at another property.",
            field="controller", remedy="Choose a controller of the zone's own property.",
        )  # fmt: skip
    return add_row(Zone, values, actor=actor, now=now)
