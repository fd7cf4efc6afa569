"""Sprinklers on hoses: what each position gets of its tap, and how long it takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from audits.domain.hydraulics import nominal_rate_mm_h
from audits.domain.point_sources import TandemFlow, minutes_for_depth, tandem_flow
from audits.domain.supply_curve import SupplyCurve, is_below_working
from audits.selectors.head_facts import facts_of
from audits.selectors.remarks import Remark, told
from audits.selectors.supplies import tap_name, taps_of
from properties.domain.site import HeadKind
from properties.models import HeadGroup, Zone

USUAL_DEPTH_MM: Final = 10.0


@dataclass(frozen=True)
class PositionWater:
    """One position: what each of its sprinklers puts out, and on what; None is unknown.

    Where the pressure is too low for them no minutes are told: the ground that they are said to
    wet stays dry at its edges, however long they run.
    """

    group: HeadGroup
    flow: TandemFlow | None
    rate_mm_h: float | None
    minutes: float | None
    remarks: tuple[Remark, ...]


@dataclass(frozen=True)
class HoseWater:
    """All positions of a zone, for one depth [mm]."""

    zone: Zone
    depth_mm: float
    positions: tuple[PositionWater, ...]


def hose_water(zone: Zone, depth_mm: float = USUAL_DEPTH_MM) -> HoseWater:
    """Return what each position of a zone gets, and the minutes that a depth takes there."""
    groups = [group for group in zone.head_groups.all() if group.kind == HeadKind.HOSE_END]
    taps = taps_of(zone.property) if groups else {}
    return HoseWater(zone, depth_mm, tuple(_position(group, taps, depth_mm) for group in groups))


def positions_rate_mm_h(zone: Zone) -> float | None:
    """Return the mean rate at the positions of a zone, each weighing as much as it wets.

    It is the rate of a sprinkler while it runs where it stands, so that the minutes that follow
    from it are those of each position. None unless every position is known.
    """
    positions = hose_water(zone).positions
    known = [(each.rate_mm_h, each.group) for each in positions if each.rate_mm_h is not None]
    if not known or len(known) < len(positions):
        return None
    grounds_m2 = [group.count * (group.wetted_area_m2 or 0.0) for _, group in known]
    water = sum(rate * m2 for (rate, _), m2 in zip(known, grounds_m2, strict=True))
    return float(water / sum(grounds_m2))


def _position(group: HeadGroup, taps: Mapping[str, SupplyCurve], depth_mm: float) -> PositionWater:
    remarks: list[Remark] = []
    flow = told(lambda: tandem_flow(facts_of(group), tap_name(group.tap), taps), remarks)
    flow_l_min = flow.flow_l_min if flow else 0.0
    rate = told(lambda: float(nominal_rate_mm_h(flow_l_min, group.wetted_area_m2)), remarks)  # type: ignore[arg-type]
    if flow is None or rate is None:
        return PositionWater(group, flow, None, None, tuple(remarks))
    rated_kpa = group.rated_pressure_kpa
    if rated_kpa is not None and is_below_working(flow.working_kpa, rated_kpa):
        remarks.append(_below_working(flow.working_kpa / rated_kpa))
        return PositionWater(group, flow, rate, None, tuple(remarks))
    minutes = told(lambda: minutes_for_depth(depth_mm, rate), remarks)
    return PositionWater(group, flow, rate, minutes, tuple(remarks))


def _below_working(part: float) -> Remark:
    return Remark(
        "below-working-pressure", "working_pressure",
        f"The tap leaves {part:.0%} of the pressure that these sprinklers are made for: they throw"
        " short and unevenly, so that no minutes can be told.",
        "Run fewer in tandem, fit a wider or shorter hose, or a sprinkler for lower pressure.",
    )  # fmt: skip
