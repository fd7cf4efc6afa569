"""What a technician may see: the properties behind his own visits, in a window of days."""

from __future__ import annotations

import zoneinfo
from datetime import datetime, timedelta
from typing import Any, Final

from django.db.models import QuerySet

from audits.models import Visit
from properties.models import Role, StaffMember
from properties.selectors.company import the_company

WINDOW: Final = timedelta(days=30)


def technician_property_ids(staff: StaffMember, now: datetime) -> QuerySet[Any]:
    """Return ids of the properties of his visits from 30 days ago to 30 days ahead."""
    return own_visits(Visit.objects.all(), staff=staff, now=now).values("property")


def own_visits(visits: QuerySet[Visit], *, staff: StaffMember, now: datetime) -> QuerySet[Visit]:
    """Return the visits that a member of staff may see: the office all, a technician his own."""
    if staff.role == Role.OFFICE:
        return visits
    today = now.astimezone(zoneinfo.ZoneInfo(the_company().time_zone)).date()
    first, last = today - WINDOW, today + WINDOW
    return visits.filter(technician=staff, planned_date__range=(first, last))
