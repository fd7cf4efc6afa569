"""The rate that the heads of a zone, or the bucket under its hose, let one expect."""

from __future__ import annotations

from collections.abc import Sequence

from audits.domain.hydraulics import (
    found_nozzle_flow_l_min,
    nominal_rate_mm_h,
    zone_nozzle_flow_l_min,
)
from audits.domain.point_sources import drip_rate_mm_h
from audits.domain.ranges import RATE_MM_H
from audits.selectors.emitter_checks import (
    dripping_flow_l_min,
    newest_emitter_check,
    rated_emitter_flow_l_min,
)
from audits.selectors.head_facts import facts_of
from audits.selectors.hose_positions import positions_rate_mm_h
from properties.domain.errors import InvalidInputError, RefusedError
from properties.domain.site import HeadKind
from properties.models import HeadGroup, Zone


def expected_rate_mm_h(zone: Zone) -> float | None:
    """Return the rate to expect without a catch test; None where zone and heads tell none.

    1. Hoses: what the taps give the sprinklers at each position over what they wet there; else
       the flow of the newest bucket test over the area, or that of the listed sprinklers where
       it is less: an open hose passes more than a sprinkler on it.
    2. Drip on a grid: the flow of the emitters over the ground that is planted between them.
    3. Others: the flow of all heads over the area.

    Emitters flow as those that drip were caught by the newest check, or else as rated; other
    heads as rated.

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
    if zone.head_kind == HeadKind.HOSE_END and (rate := _hose_rate_mm_h(zone)) is not None:
        return rate
    return _rate_of_heads_mm_h(groups, zone.area_m2, _measured_part(zone))


def nominal_rate_of_heads_mm_h(
    groups: Sequence[HeadGroup], area_m2: float | None, kpa: float | None = None
) -> float | None:
    """Return the rate by the catalogue: drip on a grid over its ground, others over the area.

    A pressure [kPa] moves heads that throw alone: many emitters and bubblers compensate for it.
    """
    return _rate_of_heads_mm_h(groups, area_m2, 1.0, kpa)


def _rate_of_heads_mm_h(
    groups: Sequence[HeadGroup],
    area_m2: float | None,
    emitter_part: float,
    kpa: float | None = None,
) -> float | None:
    if groups and all(_is_on_grid(group) for group in groups):
        return _grid_rate_mm_h(groups, emitter_part)
    if emitter_part == 1.0:
        return catalogue_rate_mm_h(groups, area_m2, kpa)
    if not groups or area_m2 is None:
        return None
    flows = [_flow_l_min(group, emitter_part) for group in groups]
    return float(nominal_rate_mm_h(sum(flows), area_m2))


def _flow_l_min(group: HeadGroup, emitter_part: float) -> float:
    part = emitter_part if group.kind == HeadKind.DRIP else 1.0
    return group.count * group.rated_flow_l_min * part


def _measured_part(zone: Zone) -> float:
    """Return what emitters that drip give by the newest check against their catalogue."""
    rated_l_min = rated_emitter_flow_l_min(zone)
    check = newest_emitter_check(zone) if rated_l_min else None
    return dripping_flow_l_min(check) / rated_l_min if check and rated_l_min else 1.0


def catalogue_rate_mm_h(
    groups: Sequence[HeadGroup], area_m2: float | None, kpa: float | None = None
) -> float | None:
    """Return the flow of the heads over an area, as rated or at a pressure [kPa]."""
    if not groups or area_m2 is None:
        return None
    facts = [facts_of(group) for group in groups]
    flow_l_min = (
        zone_nozzle_flow_l_min(facts) if kpa is None else found_nozzle_flow_l_min(facts, kpa)
    )
    return float(nominal_rate_mm_h(flow_l_min, area_m2))


def _hose_rate_mm_h(zone: Zone) -> float | None:
    rate = positions_rate_mm_h(zone)
    return _bucket_rate_mm_h(zone) if rate is None else rate


def _bucket_rate_mm_h(zone: Zone) -> float | None:
    bucket = next(iter(zone.bucket_tests.all()), None)
    if bucket is None or zone.area_m2 is None:
        return None
    groups = list(zone.head_groups.all())
    rated_l_min = sum(group.count * group.rated_flow_l_min for group in groups)
    flow_l_min = min(bucket.flow_l_min, rated_l_min) if groups else bucket.flow_l_min
    return float(nominal_rate_mm_h(flow_l_min, zone.area_m2))


def _is_on_grid(group: HeadGroup) -> bool:
    return bool(group.kind == HeadKind.DRIP and group.emitter_spacing_m and group.lateral_spacing_m)


def _grid_rate_mm_h(groups: Sequence[HeadGroup], emitter_part: float) -> float:
    """Return the mean over the planted ground of all groups, each weighing as much as it has."""
    rates, grounds_m2 = zip(*(_grid(group, emitter_part) for group in groups), strict=True)
    planted_m2 = sum(grounds_m2)
    return float(sum(r * m2 for r, m2 in zip(rates, grounds_m2, strict=True)) / planted_m2)


def _grid(group: HeadGroup, emitter_part: float) -> tuple[float, float]:
    """Return rate and ground of a grid: the need is that of the planted ground, wetted or not.

    How much of it is wetted limits what the soil stores and takes in at once, not the water that
    the plants use (NRCS and FAO practice of drip design, from memory).
    """
    along, across = group.emitter_spacing_m or 0.0, group.lateral_spacing_m or 0.0
    flow_l_min = group.rated_flow_l_min * emitter_part
    return float(drip_rate_mm_h(flow_l_min, along, across)), group.count * along * across
