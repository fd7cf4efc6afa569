"""Draws a sound lawn, and does to it what goes wrong in the field.

Ranges are what one meets on home lawns (common practice): sprays near 40 mm/h, rotors near
13 mm/h, head to head within a tenth, nozzles within a few percent of their list.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from properties.domain.site import HeadKind
from tests.audits.domain.field_lawn import Head, Lawn

Rng = np.random.Generator
KINDS = {HeadKind.SPRAY: (3.0, 4.6, 40.0, 210.0), HeadKind.ROTOR: (8.0, 11.0, 13.0, 310.0)}
GRIDS = ((2, 2), (3, 2), (3, 3), (4, 2), (4, 3), (5, 2))


def sound_lawn(rng: Rng) -> Lawn:
    """Return a lawn that is well, with the small faults that every lawn has."""
    kind = (HeadKind.SPRAY, HeadKind.ROTOR)[int(rng.integers(2))]
    low, high, rate, rated = KINDS[kind]
    spacing = rng.uniform(low, high)
    columns, rows = GRIDS[int(rng.integers(1, len(GRIDS)))]
    heads = tuple(
        _head(rng, kind, spacing, rate, (column, row, columns, rows))
        for column in range(columns)
        for row in range(rows)
    )
    lawn = Lawn(
        width_m=spacing * (columns - 1), depth_m=spacing * (rows - 1), spacing_m=spacing,
        heads=heads, rated_kpa=rated, static_kpa=1.0, supply_loss=0.0,
        drift=rng.uniform(0.03, 0.09), wind_m_s=rng.gamma(2.0, 0.5),
        wind_to=rng.uniform(-math.pi, math.pi),
    )  # fmt: skip
    return with_supply(lawn, rng, rated * rng.uniform(0.9, 1.14), drop=rng.uniform(0.15, 0.35))


def with_supply(lawn: Lawn, rng: Rng, running_kpa: float, *, drop: float) -> Lawn:
    """Return the lawn on a supply that loses a share of its static pressure on the way."""
    static = running_kpa / (1.0 - drop)
    flow = lawn.total_flow_l_min(running_kpa)
    return replace(lawn, static_kpa=static, supply_loss=(static - running_kpa) / flow**1.852)


def _head(
    rng: Rng, kind: HeadKind, spacing: float, rate: float, at: tuple[int, int, int, int]
) -> Head:
    column, row, columns, rows = at
    inward = [(column == 0) - (column == columns - 1), (row == 0) - (row == rows - 1)]
    arc = {0: 360.0, 1: 180.0, 2: 90.0}[abs(inward[0]) + abs(inward[1])]
    return Head(
        x_m=(column + rng.normal(0.0, 0.05)) * spacing, y_m=(row + rng.normal(0.0, 0.05)) * spacing,
        facing=math.atan2(inward[1], inward[0]) + rng.normal(0.0, 0.08),
        arc=math.radians(arc) if arc < 360 else 2 * math.pi,
        listed_flow_l_min=rate * spacing**2 * arc / 360 / 60,
        listed_throw_m=round(spacing, 1), listed_arc_deg=arc, kind=kind,
        opening=rng.normal(1.0, 0.05), reach=rng.normal(0.98, 0.07),
        rise=rng.uniform(0.0, 0.5), fall=rng.uniform(0.8, 1.7),
        lean=abs(rng.normal(0.0, 0.08)), lean_to=rng.uniform(-math.pi, math.pi),
    )  # fmt: skip


def _change(lawn: Lawn, rng: Rng, count: int, change: Callable[[Head], Head]) -> Lawn:
    chosen = set(rng.choice(len(lawn.heads), size=count, replace=False).tolist())
    heads = tuple(change(h) if i in chosen else h for i, h in enumerate(lawn.heads))
    return replace(lawn, heads=heads)


def leaning_head(lawn: Lawn, rng: Rng) -> Lawn:
    """Knock one or two heads out of the upright, or turn them off their area."""

    def lean(head: Head) -> Head:
        # To the front it throws into the ground, to the side it wets one flank only.
        to = head.facing + rng.normal(0.0, 0.8)
        return replace(head, lean=rng.uniform(0.35, 0.65), lean_to=to)

    def turn(head: Head) -> Head:
        if head.listed_arc_deg == 360:
            return lean(head)
        angle = rng.uniform(0.7, 2.0) * rng.choice([-1, 1])
        return replace(head, facing=head.facing + angle)

    return _change(lawn, rng, int(rng.integers(1, 3)), lean if rng.random() < 0.6 else turn)


def clogged_nozzle(lawn: Lawn, rng: Rng) -> Lawn:
    """Close one or two nozzles by a good part: less flow, less throw, a broken pattern."""

    def clog(head: Head) -> Head:
        opening = rng.uniform(0.1, 0.6)
        return replace(head, opening=opening, reach=head.reach * (0.45 + 0.6 * opening), fall=1.5)

    return _change(lawn, rng, int(rng.integers(1, 3)), clog)


def high_pressure(lawn: Lawn, rng: Rng) -> Lawn:
    """Put the zone on a supply far above what its nozzles are made for."""
    kpa = lawn.rated_kpa * rng.uniform(1.45, 2.2)
    return with_supply(lawn, rng, kpa, drop=rng.uniform(0.08, 0.25))


def leak(lawn: Lawn, rng: Rng) -> Lawn:
    """Let a part of the flow out below ground or beside a head."""
    return replace(lawn, leak=lawn.nozzle_flow_l_min(lawn.rated_kpa) * rng.uniform(0.12, 0.5))


def wrong_nozzle(lawn: Lawn, rng: Rng) -> Lawn:
    """Fit one or two heads with a nozzle of far more flow than their neighbours'."""

    def refit(head: Head) -> Head:
        more = rng.uniform(1.6, 2.6)
        return replace(head, listed_flow_l_min=head.listed_flow_l_min * more)

    return _change(lawn, rng, int(rng.integers(1, 3)), refit)


def mixed_heads(lawn: Lawn, rng: Rng) -> Lawn:
    """Replace some heads by those of another kind, which water at another rate."""
    kind = lawn.heads[0].kind
    other = HeadKind.ROTOR if kind is HeadKind.SPRAY else HeadKind.SPRAY
    factor = rng.uniform(0.3, 0.55) if kind is HeadKind.SPRAY else rng.uniform(1.8, 3.0)

    def swap(head: Head) -> Head:
        flow = head.listed_flow_l_min * factor
        reach = head.reach * (1.0 if kind is HeadKind.SPRAY else rng.uniform(0.5, 0.75))
        return replace(head, kind=other, listed_flow_l_min=flow, reach=reach)

    count = int(rng.integers(1, max(2, len(lawn.heads) // 2) + 1))
    return _change(lawn, rng, count, swap)


def low_pressure(lawn: Lawn, rng: Rng) -> Lawn:
    """Hang more heads on the supply than it carries."""
    kpa = lawn.rated_kpa * rng.uniform(0.4, 0.72)
    return with_supply(lawn, rng, kpa, drop=rng.uniform(0.4, 0.65))


def overspray(lawn: Lawn, rng: Rng) -> Lawn:
    """Let a good part of the edge heads throw over the edge."""
    wider, longer = rng.uniform(1.3, 1.9), rng.uniform(1.1, 1.4)
    share = rng.uniform(0.4, 1.0)

    def overthrow(head: Head) -> Head:
        if head.listed_arc_deg == 360:
            return head
        arc = min(2 * math.pi, head.arc * wider)
        return replace(head, arc=arc, reach=head.reach * longer)

    return _change(lawn, rng, max(2, round(share * len(lawn.heads))), overthrow)


def unchanged(lawn: Lawn, rng: Rng) -> Lawn:
    """Leave the lawn as it is: what is wrong, if anything, is its program."""
    return lawn
