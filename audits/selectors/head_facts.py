"""A stored group of heads, seen as the domain sees it."""

from __future__ import annotations

from audits.domain.heads import HeadGroupFacts
from properties.domain.site import HeadKind
from properties.models import HeadGroup


def facts_of(group: HeadGroup) -> HeadGroupFacts:
    """Return a stored group of heads as the domain sees it."""
    return HeadGroupFacts(
        kind=HeadKind(group.kind),
        count=group.count,
        rated_flow_l_min=group.rated_flow_l_min,
        rated_kpa=group.rated_pressure_kpa,
        arc_deg=group.arc_deg,
        throw_m=group.throw_m,
    )
