"""Whether heads stand where they should: apart, from strips and from paving."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from audits.domain.heads import SPACING_M, THROW_M
from audits.domain.ranges import Range
from properties.domain.site import HeadKind
from properties.domain.units import dimension, to_canonical

STRIP_M: Final = Range("width of a strip", "m", 0.0, 1000.0)
GAP_M: Final = Range("gap to the paving", "m", 0.0, 1000.0)

# What throws water through the air; drip and bubblers wet the ground where they stand.
ABOVE_GROUND_SPRAY: Final = frozenset(
    {
        HeadKind.SPRAY,
        HeadKind.ROTARY_NOZZLE,
        HeadKind.ROTOR,
        HeadKind.IMPACT,
        HeadKind.HOSE_END,
    }
)
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, kw_only=True)
class PlacementRule:
    """What a region asks of where heads stand.

    spacing_tolerance: how far the spacing may be from the published throw, as a fraction;
    least_spray_strip_m: width below which no spray may stand between paving [m];
    least_gap_m: from a head to the paving [m].
    """

    spacing_tolerance: float
    least_spray_strip_m: float
    least_gap_m: float
    source: str


TEXAS_PLACEMENT: Final = PlacementRule(
    spacing_tolerance=0.10,
    least_spray_strip_m=to_canonical(48.0, "in", dimension("depth")) / 1000.0,
    least_gap_m=to_canonical(4.0, "in", dimension("depth")) / 1000.0,
    source="30 TAC 344.62",
)


@dataclass(frozen=True)
class SpacingCheck:
    """How a spacing stands to the throw: `excess` is spacing over throw less 1."""

    excess: float
    is_within_tolerance: bool
    reaches_next_head: bool


def spacing_against_throw(
    spacing_m: float, throw_m: float, rule: PlacementRule = TEXAS_PLACEMENT
) -> SpacingCheck:
    """Return whether heads stand as far apart as they throw.

    Parameters
    ----------
    spacing_m : between neighbouring heads [m], 0.1 to 60.
    throw_m : published radius at the pressure found [m], 0.1 to 60.
    rule : the region's.

    References
    ----------
    30 TAC 344.62: within 10 % of the published radius. That each head should reach the next is
    common practice; a spacing within the tolerance may still leave a gap.
    """
    spacing = SPACING_M.number(spacing_m, field="spacing_m")
    excess = spacing / THROW_M.number(throw_m, field="throw_m") - 1.0
    return SpacingCheck(
        excess=excess,
        is_within_tolerance=abs(excess) <= rule.spacing_tolerance + _ROUNDING,
        reaches_next_head=excess <= _ROUNDING,
    )


def narrow_strip_ok(
    kind: HeadKind,
    width_m: float,
    *,
    is_bounded_by_paving: bool,
    rule: PlacementRule = TEXAS_PLACEMENT,
) -> bool:
    """Return whether such heads may water a strip of that width.

    Parameters
    ----------
    kind : of the heads.
    width_m : of the planted strip, paving left out [m], 0 to 1000.
    is_bounded_by_paving : whether people walk or drive along its sides.
    rule : the region's.

    References
    ----------
    30 TAC 344.62: no above-ground spray in such strips under 48 in.
    """
    width = STRIP_M.number(width_m, field="width_m")
    if kind not in ABOVE_GROUND_SPRAY or not is_bounded_by_paving:
        return True
    return width >= rule.least_spray_strip_m - _ROUNDING


def from_hardscape_ok(gap_m: float, rule: PlacementRule = TEXAS_PLACEMENT) -> bool:
    """Return whether a head stands far enough from the paving.

    Parameters
    ----------
    gap_m : from the head to the paving [m], 0 to 1000.
    rule : the region's.

    References
    ----------
    30 TAC 344.62: at least 4 in.
    """
    return GAP_M.number(gap_m, field="gap_m") >= rule.least_gap_m - _ROUNDING
