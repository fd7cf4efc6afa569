"""Keeping what districts grant a landscape: putting right what was entered wrongly."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from properties.models import StaffMember, WaterBudget
from properties.services.rows import change_what_differs


@transaction.atomic
def change_budget(
    budget: WaterBudget,
    changes: Mapping[str, Any],
    *,
    read_revision: int | None = None,
    actor: StaffMember,
    now: datetime,
) -> WaterBudget:
    """Put an allowance right that was entered wrongly; one that its makers changed is retired."""
    held = WaterBudget.objects.select_for_update().get(pk=budget.pk)
    return change_what_differs(held, changes, read_revision=read_revision, actor=actor, now=now)
