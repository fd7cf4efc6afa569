"""Storing watering plans: a new revision only when what can be set changes."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from audits.models import Visit
from properties.domain.errors import DomainError
from properties.models import Property, StaffMember, Zone
from properties.services.rows import add_row
from scheduling.domain.run_times import SeasonPlan, ZonePlan
from scheduling.domain.zone_facts import WateringLimits
from scheduling.models import WateringPlan
from scheduling.selectors.seasons import PropertySeason, ZoneSeasonFacts, property_season
from scheduling.selectors.weather_outlook import local_date
from scheduling.services.refits import ask_for_refits
from scheduling.signals import plans_made

SETTABLE = (
    "month",
    "days_between",
    "weekdays",
    "waterings_per_day",
    "cycles",
    "cycle_min",
    "soak_min",
)
LIMITS = (
    "minute_step",
    "longest_run_min",
    "max_cycles",
    "longest_interval_days",
    "max_multiplier",
    "daily_minutes_cap",
    "daily_depth_cap_mm",
)


@transaction.atomic
def store_plans(property_: Property, *, actor: StaffMember | None, now: datetime) -> dict[str, Any]:
    """Store the plans of all zones of a property; return how many are new, and what failed."""
    found = property_season(property_, local_date(property_, now))
    stored = {
        each.zone.pk: _store_plan(found, each, actor, now) for each in found.zones if each.plan
    }
    if any(stored.values()):
        ask_for_refits(property_, now=now)
    return {
        "zones": len(found.zones),
        "new_plans": sum(is_new for is_new in stored.values()),
        "problems": {
            str(each.zone.pk): {"code": each.refusal.code, "detail": str(each.refusal)}
            for each in found.zones
            if each.refusal is not None
        },
    }


def store_plans_of_property(property_id: UUID, now: datetime) -> dict[str, Any]:
    """Do the background job of that name."""
    return store_plans(Property.objects.get(pk=property_id), actor=None, now=now)


def store_plans_after_visit(visit_id: UUID, now: datetime) -> dict[str, Any]:
    """Do the background job of that name; the apps above hear of it even after a refusal."""
    visit = Visit.objects.select_related("property").get(pk=visit_id)
    try:
        result = store_plans(visit.property, actor=None, now=now)
    except DomainError as refusal:
        result = {"problem": {"code": refusal.code, "detail": str(refusal)}}
    plans_made.send(WateringPlan, visit_id=visit_id, now=now)
    return result


def _store_plan(
    found: PropertySeason, each: ZoneSeasonFacts, actor: StaffMember | None, now: datetime
) -> bool:
    assert each.plan is not None
    assert each.facts is not None
    digest = settings_digest(each.plan)
    zone = Zone.objects.select_for_update().get(pk=each.zone.pk)
    newest = zone.watering_plans.order_by("-number").first()
    if newest is not None and newest.settings_digest == digest:
        return False
    values = {
        "zone": zone,
        "number": newest.number + 1 if newest else 1,
        "station": found.station,
        "test": each.test,
        "is_estimated": each.facts.estimated,
        "inputs": {
            "zone": _plain(asdict(each.facts)),
            "climate": _plain(asdict(found.climate)),
            "weather": _plain(asdict(found.gaps)) if found.gaps else None,
            "limits": [_kept_limits(limits) for limits in each.limits],
        },
        "months": [_plain(asdict(month)) for month in each.plan.months],
        "settings_digest": digest,
    }
    add_row(WateringPlan, values, actor=actor, now=now, act="planned")
    return True


def settings_digest(plan: SeasonPlan) -> str:
    """Return a digest of what a person can set: days, cycles, minutes and soak of each month."""
    settable = [_settable(month) for month in plan.months]
    return hashlib.sha256(json.dumps(settable).encode()).hexdigest()


def _settable(month: ZonePlan) -> list[Any]:
    return [_plain(getattr(month, name)) for name in SETTABLE]


def _kept_limits(limits: WateringLimits) -> dict[str, Any]:
    kept = {name: getattr(limits, name) for name in LIMITS}
    days = limits.allowed_weekdays
    return {**kept, "allowed_weekdays": None if days is None else sorted(days)}


def _plain(value: Any) -> Any:
    """Return JSON of domain values, through the encoder that knows dates and enumerations."""
    return json.loads(json.dumps(value, default=str))
