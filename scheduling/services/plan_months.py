"""Writing the months of new plans as plain columns, for the nightly look."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from typing import Any, Final

from django.db import transaction
from django.db.models import Exists, OuterRef

from scheduling.models import PlanMonth, WateringPlan
from scheduling.selectors.night_inputs import newest_plans

logger = logging.getLogger(__name__)

PLANS_AT_ONCE: Final = 200


def make_plan_months() -> int:
    """Write the months of each newest plan that has none yet; return of how many plans.

    A bounded number of plans is held at a time, and each batch is whole or not there.
    """
    made = 0
    missing = newest_plans().filter(~Exists(PlanMonth.objects.filter(plan=OuterRef("pk"))))
    remaining = missing.order_by("pk")
    while plans := list(remaining[:PLANS_AT_ONCE]):
        _write(plans)
        made += len(plans)
        remaining = missing.filter(pk__gt=plans[-1].pk).order_by("pk")
    return made


@transaction.atomic
def _write(plans: list[WateringPlan]) -> None:
    """Put the months of plans in place of those of the zones' plans before; as new rows."""
    PlanMonth.objects.filter(zone__in=[plan.zone_id for plan in plans]).delete()
    rows = [row for plan in plans for row in _sound_months_of(plan)]
    PlanMonth.objects.bulk_create(rows, ignore_conflicts=True)  # another worker may be at it too


def _sound_months_of(plan: WateringPlan) -> list[PlanMonth]:
    """Return the months of a plan; one that is not what it should be has none and is logged."""
    try:
        return list(_months_of(plan))
    except (LookupError, TypeError, ValueError):
        logger.exception("the plan %s cannot be looked at by night", plan.pk)
        return []


def _months_of(plan: WateringPlan) -> Iterator[PlanMonth]:
    zone = plan.inputs["zone"]
    for month in plan.months:
        yield PlanMonth(
            zone_id=plan.zone_id,
            plan=plan,
            station_id=plan.station_id,
            month=month["month"],
            raw_mm=month["raw_mm"],
            need_per_et0=_need_per_et0(month),
            usual_et0_mm=month["et0_mm_day"],
            net_mm=_of_day(month, "net_mm"),
            gross_mm=_of_day(month, "gross_mm"),
            minutes=month["minutes"],
            days_between=None if month["weekdays"] is not None else month["days_between"],
            least_days=zone["min_days_between"],
            most_days=zone["max_days_between"] or zone["min_days_between"],
        )


def _need_per_et0(month: dict[str, Any]) -> float:
    is_watered = month["days_between"] is not None and month["et0_mm_day"] > 0.0
    return month["need_mm_day"] / month["et0_mm_day"] if is_watered else 0.0


def _of_day(month: dict[str, Any], name: str) -> float:
    return float(month[name] * month["waterings_per_day"])
