"""A stored check of emitters, seen again as the domain sees it."""

from __future__ import annotations

from audits.domain.catch_advice import Advice
from audits.domain.emitter_checks import EmitterResult, emitter_advice, uniformity_of_dripping
from audits.models import EmitterCheck
from properties.domain.site import HeadKind
from properties.models import Zone


def newest_emitter_check(zone: Zone) -> EmitterCheck | None:
    """Return the check by which the zone's emitters are known; a prefetch serves."""
    return next(iter(zone.emitter_checks.all()), None)


def dripping_emitters(check: EmitterCheck) -> int:
    """Return how many emitters of a check drip; never none, as such a check is refused."""
    return check.emitters - check.dry_emitters


def dripping_flow_l_min(check: EmitterCheck) -> float:
    """Return the mean flow of the emitters that drip [L/min].

    It is what a plan may go by: more minutes give nothing through a dry emitter, and far too much
    through all others.
    """
    return check.mean_flow_l_min * check.emitters / dripping_emitters(check)


def dripping_uniformity(check: EmitterCheck) -> float:
    """Return the uniformity of the emitters that drip; where all do, the one that is shown."""
    if not check.dry_emitters:
        return check.emission_uniformity
    return uniformity_of_dripping([reading.flow_l_min for reading in check.readings.all()])


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
