"""A stored check of emitters, seen again as the domain sees it."""

from __future__ import annotations

from audits.domain.catch_advice import Advice
from audits.domain.emitter_checks import EmitterResult, emitter_advice
from audits.models import EmitterCheck
from properties.domain.site import HeadKind
from properties.models import Zone


def newest_emitter_check(zone: Zone) -> EmitterCheck | None:
    """Return the check by which the zone's emitters are known; a prefetch serves."""
    return next(iter(zone.emitter_checks.all()), None)


def rated_emitter_flow_l_min(zone: Zone) -> float | None:
    """Return the mean catalogue flow of the zone's drip emitters [L/min], each counted once."""
    groups = [group for group in zone.head_groups.all() if group.kind == HeadKind.DRIP]
    emitters = sum(group.count for group in groups)
    if not emitters:
        return None
    return sum(group.count * group.rated_flow_l_min for group in groups) / emitters


def advice_of_emitters(check: EmitterCheck) -> tuple[Advice, ...]:
    """Return what to say of a stored check; its readings and heads should be prefetched."""
    readings = list(check.readings.all())
    caught = [reading.volume_ml for reading in readings if reading.volume_ml]
    result = EmitterResult(
        flows_l_min=tuple(reading.flow_l_min for reading in readings),
        mean_flow_l_min=check.mean_flow_l_min,
        emission_uniformity=check.emission_uniformity,
        dry_emitters=check.dry_emitters,
    )
    return emitter_advice(
        result,
        least_volume_ml=min(caught, default=None),
        rated_flow_l_min=rated_emitter_flow_l_min(check.zone),
    )
