"""The rate that the heads of a zone, or the bucket under its hose, let one expect."""

from __future__ import annotations

from collections.abc import Sequence

from audits.domain.heads import HeadGroupFacts
from audits.domain.hydraulics import nominal_rate_mm_h, zone_nozzle_flow_l_min
from audits.domain.point_sources import drip_rate_mm_h
from audits.domain.ranges import RATE_MM_H
from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.site import HeadKind
from properties.models import HeadGroup, Zone


def expected_rate_mm_h(zone: Zone) -> float | None:
    """Return the rate to expect without a catch test; None where zone and heads tell none.

    1. A hose: the flow of its newest bucket test over the area.
    2. Drip on a grid: the flow of the emitters over the ground that they wet.
    3. Others: the rated flow of all heads over the area.

    Raises
    ------
    RefusedError
        Code "no-rate" where what is stored tells no believable rate.
    """
    try:
        rate = _expected_rate_mm_h(zone)
        return None if rate is None else RATE_MM_H.number(rate, field="rate_mm_h")
    except InvalidInputError as absurd:
        raise RefusedError(
            f"The heads of zone {zone} tell no rate. {absurd.detail}",
            code="no-rate", field="zone",
            remedy="Record a catch test, or put the zone's area and heads right.",
        ) from absurd  # fmt: skip


def _expected_rate_mm_h(zone: Zone) -> float | None:
    groups = list(zone.head_groups.all())
    if zone.head_kind == HeadKind.HOSE_END and (rate := _bucket_rate_mm_h(zone)) is not None:
        return rate
    if groups and all(_is_on_grid(group) for group in groups):
        return _grid_rate_mm_h(groups)
    return catalogue_rate_mm_h(groups, zone.area_m2)


def catalogue_rate_mm_h(
    groups: Sequence[HeadGroup], area_m2: float | None, kpa: float | None = None
) -> float | None:
    """Return the flow of the heads over an area, as rated or at a pressure [kPa]."""
    if not groups or area_m2 is None:
        return None
    flow_l_min = zone_nozzle_flow_l_min([facts_of(group) for group in groups], kpa)
    return float(nominal_rate_mm_h(flow_l_min, area_m2))


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


def _bucket_rate_mm_h(zone: Zone) -> float | None:
    bucket = next(iter(zone.bucket_tests.all()), None)
    if bucket is None or zone.area_m2 is None:
        return None
    return float(nominal_rate_mm_h(bucket.flow_l_min, zone.area_m2))


def _is_on_grid(group: HeadGroup) -> bool:
    return bool(group.kind == HeadKind.DRIP and group.emitter_spacing_m and group.lateral_spacing_m)


def _grid_rate_mm_h(groups: Sequence[HeadGroup]) -> float:
    """Return the mean over the ground of all groups, each weighing as much as it wets."""
    rates, grounds_m2 = zip(*(_grid(group) for group in groups), strict=True)
    wetted_m2 = sum(grounds_m2)
    return float(sum(r * m2 for r, m2 in zip(rates, grounds_m2, strict=True)) / wetted_m2)


def _grid(group: HeadGroup) -> tuple[float, float]:
    along, across = group.emitter_spacing_m or 0.0, group.lateral_spacing_m or 0.0
    part = group.wetted_part or 1.0
    rate = float(drip_rate_mm_h(group.rated_flow_l_min, along, across, part))
    return rate, group.count * along * across * part
