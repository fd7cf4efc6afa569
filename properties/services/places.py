"""Adding and changing properties."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from properties.models import Property, StaffMember
from properties.selectors.company import the_company
from properties.services.backflow_tests import refuse_test_to_come
from properties.services.rows import add_row, change_held


@transaction.atomic
def add_property(
    values: Mapping[str, Any], *, actor: StaffMember | None, now: datetime
) -> Property:
    """Add a property of a client; its clock is the company's where none is named."""
    refuse_test_to_come(values, now=now)
    time_zone = values.get("time_zone") or the_company().time_zone
    return add_row(Property, {**values, "time_zone": time_zone}, actor=actor, now=now)


@transaction.atomic
def change_property(
    property_: Property,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> Property:
    """Change a property: whose it is, where it is, whose rules bind it, what water it has."""
    refuse_test_to_come(changes, now=now)
    return change_held(property_, changes, read_revision=read_revision, actor=actor, now=now)
