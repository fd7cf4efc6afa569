"""What stands against the end of a property or of a technician's work."""

from __future__ import annotations

from audits.models import Visit, VisitState
from properties.models import Property, StaffMember


def visits_ahead_of(row: Property | StaffMember) -> str:
    """Return a sentence while visits there, or of the person, are planned or under way."""
    whose = {"property": row} if isinstance(row, Property) else {"technician": row}
    states = [VisitState.PLANNED, VisitState.UNDER_WAY]
    count = Visit.objects.filter(state__in=states, **whose).count()
    return f"{row} has {count} visit{'s' if count > 1 else ''} ahead." if count else ""
