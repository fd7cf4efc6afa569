"""What the office asks of all properties and zones at once."""

from __future__ import annotations

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from audits.models import Visit, VisitKind, VisitState
from audits.selectors.zones import valid_tests
from properties.models import Property, Zone


def with_audit_dates(rows: QuerySet[Property]) -> QuerySet[Property]:
    """Give properties the day of their last finished audit, and of the next one planned."""
    audits = Visit.objects.filter(property=OuterRef("pk"), kind=VisitKind.AUDIT)
    finished = audits.filter(state=VisitState.FINISHED).order_by("-planned_date")
    ahead = audits.filter(state__in=[VisitState.PLANNED, VisitState.UNDER_WAY])
    return rows.annotate(
        last_audit_date=Subquery(finished.values("planned_date")[:1]),
        next_audit_date=Subquery(ahead.order_by("planned_date").values("planned_date")[:1]),
    )


def untested_zones() -> QuerySet[Zone]:
    """Return the zones in use that no valid catch test tells of."""
    return Zone.objects.filter(
        ~Exists(valid_tests().filter(zone=OuterRef("pk"))),
        is_active=True,
        property__retired_at__isnull=True,
    )
