"""Recording buckets filled against a watch."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from django.db import transaction

from audits.domain.ranges import FLOW_L_MIN, Range
from audits.models import BucketTest
from audits.services.field_records import check_may_record, check_zone_of_property
from properties.models import StaffMember
from properties.services.rows import add_row

VOLUME_L: Final = Range("volume of a bucket", "L", 0.01, 1000.0)
SECONDS: Final = Range("time to fill a bucket", "s", 1.0, 3600.0)
SECONDS_PER_MINUTE: Final = 60.0


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
    volume_l = VOLUME_L.number(values["volume_l"], field="volume_l")
    seconds = SECONDS.number(values["seconds"], field="seconds")
    return FLOW_L_MIN.number(volume_l / seconds * SECONDS_PER_MINUTE, field="seconds")
