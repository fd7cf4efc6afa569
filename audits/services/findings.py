"""Recording what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.models import Finding, VisitState
from audits.services.field_records import check_may_record, check_zone_of_property
from audits.services.tickets import open_tickets_of_visit
from properties.models import StaffMember
from properties.services.rows import add_row


@transaction.atomic
def record_finding(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> Finding:
    """Record a fault seen at a visit; one that comes in after its end gets its ticket at once."""
    visit = values["visit"]
    seen_at = values.get("seen_at", now)
    check_may_record(visit, actor=actor, happened_at=seen_at, now=now, moment_field="seen_at")
    check_zone_of_property(values.get("zone"), visit.property_id)
    finding = add_row(Finding, {**values, "seen_at": seen_at}, actor=actor, now=now, act="found")
    if visit.state == VisitState.FINISHED:
        open_tickets_of_visit(visit, actor=actor, now=now)
        finding.refresh_from_db()
    return finding
