"""Recording buckets filled against a watch."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from audits.domain.point_sources import bucket_flow_l_min
from audits.domain.ranges import FLOW_L_MIN
from audits.models import BucketTest
from audits.services.field_records import check_may_record, check_zone_of_property
from properties.models import StaffMember
from properties.services.rows import add_row


@transaction.atomic
def record_bucket_test(
    values: Mapping[str, Any], *, actor: StaffMember, now: datetime
) -> BucketTest:
    """Store a bucket test of a zone at a visit, with the flow that it comes to."""
    visit = values["visit"]
    taken_at = values.get("taken_at", now)
    check_may_record(visit, actor=actor, happened_at=taken_at, now=now)
    check_zone_of_property(values["zone"], visit.property_id)
    row = {**values, "taken_at": taken_at, "flow_l_min": _flow_l_min(values)}
    return add_row(BucketTest, row, actor=actor, now=now, act="tested")


def _flow_l_min(values: Mapping[str, Any]) -> float:
    flow_l_min = float(bucket_flow_l_min(values["volume_l"], values["seconds"]))
    return FLOW_L_MIN.number(flow_l_min, field="seconds")
