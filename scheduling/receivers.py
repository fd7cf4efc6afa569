"""What this app does when it hears of things below."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from audits.models import Visit
from properties.models import StaffMember
from properties.services.jobs import ask_for
from scheduling.services.job_kinds import PLANS_AFTER_VISIT


def ask_for_plans(
    sender: Any, *, visit: Visit, actor: StaffMember, now: datetime, **_: Any
) -> None:
    """Plan all zones of the property anew, after a visit or after a test that came later."""
    ask_for(PLANS_AFTER_VISIT, visit.pk, asked_by=actor, now=now)
