"""Which rows a member of staff may see.

The office sees all. What a technician may see follows from visits, which live in a higher app: that
app registers a function that names the properties in his window of days. With none registered he
sees nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final, TypeVar

from django.db.models import Model, QuerySet

from properties.models import Property, Role, StaffMember

PropertyScope = Callable[[StaffMember, datetime], QuerySet[Any]]
_TECHNICIAN_SCOPES: Final[list[PropertyScope]] = []
AnyModel = TypeVar("AnyModel", bound=Model)


def register_technician_scope(scope: PropertyScope) -> None:
    """Let `scope(technician, now)` return ids of properties that he may see."""
    _TECHNICIAN_SCOPES.append(scope)


def visible_properties(staff: StaffMember, now: datetime) -> QuerySet[Property]:
    """Return the properties that a member of staff may see."""
    return narrow_to_scope(Property.objects.all(), "pk", staff=staff, now=now)


def narrow_to_scope(
    rows: QuerySet[AnyModel], property_path: str, *, staff: StaffMember, now: datetime
) -> QuerySet[AnyModel]:
    """Narrow rows to those whose property (at `property_path`) the member of staff may see."""
    if staff.role == Role.OFFICE:
        return rows
    allowed = rows.none()
    for scope in _TECHNICIAN_SCOPES:
        allowed = allowed | rows.filter(**{f"{property_path}__in": scope(staff, now)})
    return allowed
