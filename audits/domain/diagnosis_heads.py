"""What the list of heads says of itself: kinds, matched rates, spacing against throw."""

from __future__ import annotations

from audits.domain.diagnosis_evidence import NozzleGroup, ZoneEvidence
from audits.domain.heads import MAY_COMPENSATE


def kinds_of_heads(groups: tuple[NozzleGroup, ...]) -> int:
    """Return how many kinds of head the list holds; 0 for an empty list."""
    return len({group.kind for group in groups})


def unmatched_ratio(groups: tuple[NozzleGroup, ...]) -> float | None:
    """Return the highest over the lowest rate that the nozzles put on their own sector.

    The rate is flow over arc and throw squared. None unless two groups or more tell all three.
    """
    rates = [
        group.flow_l_min / (group.arc_deg * group.throw_m**2)
        for group in groups
        if group.flow_l_min and group.arc_deg and group.throw_m
    ]
    return max(rates) / min(rates) if len(rates) > 1 else None


def spacing_over_throw(spacing_m: float | None, groups: tuple[NozzleGroup, ...]) -> float | None:
    """Return the head spacing over the shortest listed throw; None where either is unknown."""
    throws = [group.throw_m for group in groups if group.throw_m]
    return spacing_m / min(throws) if spacing_m and throws else None


def may_suffer(evidence: ZoneEvidence) -> bool:
    """Return whether too much pressure harms some heads; drip and bubblers may compensate."""
    kinds = {group.kind for group in evidence.groups} or {evidence.head_kind}
    return not kinds <= MAY_COMPENSATE
