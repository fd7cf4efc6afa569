"""What the treatments of a zone ask of its water, and which of them contradict each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from audits.domain.treatments import (
    HoldWater,
    TreatmentEffect,
    WaterIn,
    conflicts,
    treatment_effect,
    water_in_limit_mm,
)
from audits.domain.treatments import Treatment as Asked
from audits.models import Treatment, TreatmentKind
from properties.models import Zone


@dataclass(frozen=True)
class EffectOnZone:
    """What is asked at a moment, how deep at most, by whom, and what binds over it."""

    at: datetime
    effect: TreatmentEffect
    at_most_mm: float | None
    treatments: tuple[UUID, ...]
    labels: tuple[str, ...]


def asked_of_water(row: Treatment) -> Asked:
    """Return a stored treatment as the domain sees it, or refuse what it cannot be."""
    window = {"applied_at": row.applied_at, "until": row.until}
    if row.kind == TreatmentKind.HOLD_WATER:
        return HoldWater(label=row.label, **window)
    return WaterIn(label=row.label, at_most_mm=row.at_most_mm, **window)  # type: ignore[arg-type]


def effect_on_zone(zone: Zone, at: datetime) -> EffectOnZone:
    """Return what the zone's own treatments and those of its whole property ask at a moment."""
    of_zone = Q(zone=zone) | Q(zone=None, property=zone.property_id)
    rows = Treatment.objects.filter(
        of_zone, is_called_off=False, applied_at__lte=at, until__gt=at
    ).order_by("applied_at", "id")
    asked = [asked_of_water(row) for row in rows]
    return EffectOnZone(
        at=at,
        effect=treatment_effect(asked, at),
        at_most_mm=water_in_limit_mm(asked, at),
        treatments=tuple(row.pk for row in rows),
        labels=tuple(treatment.binding_text for treatment in asked),
    )


def conflicting_treatments(rows: Sequence[Treatment]) -> dict[UUID, list[UUID]]:
    """Return for each treatment the live ones that ask the contrary in the same place and time."""
    if not rows:
        return {}
    others = Treatment.objects.filter(
        property__in={row.property_id for row in rows},
        is_called_off=False,
        applied_at__lt=max(row.until for row in rows),
        until__gt=min(row.applied_at for row in rows),
    ).order_by("applied_at", "id")
    live = list(others)
    return {row.pk: [other.pk for other in live if _contradict(row, other)] for row in rows}


def _contradict(one: Treatment, other: Treatment) -> bool:
    if one.is_called_off or one.property_id != other.property_id:
        return False
    shares_ground = None in (one.zone_id, other.zone_id) or one.zone_id == other.zone_id
    return shares_ground and bool(conflicts([asked_of_water(one), asked_of_water(other)]))
