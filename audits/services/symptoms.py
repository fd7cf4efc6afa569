"""Recording what is seen on plants and ground."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.models import PlantSymptom
from audits.services.field_records import check_may_record, check_zone_of_property
from properties.models import StaffMember
from properties.services.rows import add_row


@transaction.atomic
def record_symptom(values: Mapping[str, Any], *, actor: StaffMember, now: datetime) -> PlantSymptom:
    """Store a symptom of a zone as it looks; what the water says of it is computed when read."""
    visit = values["visit"]
    seen_at = values.get("seen_at", now)
    check_may_record(visit, actor=actor, happened_at=seen_at, now=now, moment_field="seen_at")
    check_zone_of_property(values["zone"], visit.property_id)
    return add_row(
        PlantSymptom, {**values, "seen_at": seen_at}, actor=actor, now=now, act="noticed"
    )
