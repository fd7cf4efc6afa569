"""A stored revision of a plan beside the one before it."""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.domain.plan_differences import KeptPlan, PlanDifference, plan_difference
from scheduling.models import WateringPlan


@dataclass(frozen=True)
class RevisionDifference:
    """A revision, the one before it, and what changed; of the first plan there is none."""

    plan: WateringPlan
    before: WateringPlan | None = None
    difference: PlanDifference | None = None


def revision_difference(plan: WateringPlan) -> RevisionDifference:
    """Return what a revision changes against the one before it."""
    earlier = WateringPlan.objects.filter(zone=plan.zone_id, number__lt=plan.number)
    before = earlier.order_by("-number").first()
    if before is None:
        return RevisionDifference(plan)
    return RevisionDifference(plan, before, plan_difference(_kept(before), _kept(plan)))


def _kept(plan: WateringPlan) -> KeptPlan:
    return KeptPlan(
        test=str(plan.test_id) if plan.test_id else None,
        station=str(plan.station_id),
        inputs=plan.inputs,
        months=tuple(plan.months),
    )
