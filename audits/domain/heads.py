"""The heads of a zone: what they let out together, and whether they water at one rate."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from numpy.typing import ArrayLike

from audits.domain.nozzles import RATED_KPA, nominal_rate_mm_h, nozzle_flow_l_min
from audits.domain.ranges import FloatOrArray, Range
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

HEADS: Final = Range("number of heads", "heads", 1, 2000)
HEAD_FLOW_L_MIN: Final = Range("flow of a head", "L/min", 0.001, 500.0)
ARC_DEG: Final = Range("arc", "degrees", 1.0, 360.0)
THROW_M: Final = Range("throw", "m", 0.1, 60.0)
SPACING_M: Final = Range("spacing", "m", 0.1, 60.0)

# Common practice: much drip and most bubblers hold their flow over a wide span of pressure. Which
# of them do is not stored, so that no exponent is known by which theirs would change.
MAY_COMPENSATE: Final = frozenset({HeadKind.DRIP, HeadKind.BUBBLER})
# Any one pressure serves to compare nozzles that are rated at several.
_COMPARED_AT_KPA: Final = 200.0


@dataclass(frozen=True, kw_only=True)
class HeadGroupFacts:
    """Heads of one kind and nozzle in a zone, by the catalogue; None is unknown.

    count 1 to 2000; rated_flow_l_min of one head [L/min], 0.001 to 500, at rated_kpa [kPa], 1 to
    2500; arc_deg 1 to 360; throw_m [m], 0.1 to 60.
    """

    kind: HeadKind
    count: int
    rated_flow_l_min: float
    rated_kpa: float | None = None
    arc_deg: float | None = None
    throw_m: float | None = None

    def __post_init__(self) -> None:
        HEADS.whole(self.count, field="count")
        HEAD_FLOW_L_MIN.number(self.rated_flow_l_min, field="rated_flow_l_min")
        optional = ((RATED_KPA, "rated_kpa"), (ARC_DEG, "arc_deg"), (THROW_M, "throw_m"))
        for allowed, field in optional:
            if getattr(self, field) is not None:
                allowed.number(getattr(self, field), field=field)

    def flow_l_min(self, actual_kpa: float | None = None) -> float:
        """Return the flow of one head, as rated or at another pressure [kPa]."""
        if actual_kpa is None:
            return self.rated_flow_l_min
        rated_kpa = RATED_KPA.number(self.rated_kpa, field="rated_kpa")
        return float(nozzle_flow_l_min(self.rated_flow_l_min, rated_kpa, actual_kpa))


def zone_nozzle_flow_l_min(
    groups: Iterable[HeadGroupFacts], actual_kpa: float | None = None
) -> float:
    """Return what all heads of a zone let out together.

    Parameters
    ----------
    groups : all heads of the zone, at least one group.
    actual_kpa : pressure at the heads [kPa], 0 to 2500; None takes every head as rated.

    Returns
    -------
    flow [L/min].

    Raises
    ------
    InvalidInputError
        Code "no-heads"; "missing" for an actual pressure beside a head without a rated one.
    """
    return sum(group.count * group.flow_l_min(actual_kpa) for group in _some(groups))


def found_nozzle_flow_l_min(groups: Iterable[HeadGroupFacts], found_kpa: float) -> float:
    """Return what all heads of a zone should let out together at the pressure that was found.

    Drip and bubblers count as rated: they may compensate for the pressure.

    Parameters
    ----------
    groups : all heads of the zone, at least one group.
    found_kpa : pressure at the heads [kPa], 0 to 2500.

    Returns
    -------
    flow [L/min].

    Raises
    ------
    InvalidInputError
        Code "no-heads"; "missing" for a head that throws and has no rated pressure.

    References
    ----------
    The orifice law of `nozzle_flow_l_min` for heads that throw; q = k P^x with x = 0 for emitters
    that compensate (Keller and Karmeli 1974, from memory).
    """
    return sum(
        group.count * group.flow_l_min(None if group.kind in MAY_COMPENSATE else found_kpa)
        for group in _some(groups)
    )


def head_rate_mm_h(
    flow_l_min: ArrayLike,
    arc_deg: ArrayLike,
    spacing_m: ArrayLike,
    row_spacing_m: ArrayLike | None = None,
) -> FloatOrArray:
    """Return the rate of a head among equal neighbours.

    Parameters
    ----------
    flow_l_min : flow of the head [L/min], 0.001 to 500.
    arc_deg : the part of the circle that it waters [degrees], 1 to 360.
    spacing_m : to the next head in its row [m], 0.1 to 60; the throw where heads stand
        head to head.
    row_spacing_m : to the next row, measured square to it [m]; None is a square. In a triangle of
        equal sides it is 0.866 of the spacing. All: floats or arrays of one shape.

    Returns
    -------
    rate [mm/h], the same shape.

    References
    ----------
    Trade formula, in US units 34 650 gpm / (degrees x ft x ft): the flow of a full circle over
    the area that each head has to itself.
    """
    flow = HEAD_FLOW_L_MIN.numbers(flow_l_min, field="flow_l_min")
    arc = ARC_DEG.numbers(arc_deg, field="arc_deg")
    spacing = SPACING_M.numbers(spacing_m, field="spacing_m")
    row = (
        spacing
        if row_spacing_m is None
        else SPACING_M.numbers(row_spacing_m, field="row_spacing_m")
    )
    return nominal_rate_mm_h(flow * 360.0 / arc, spacing * row)


def matched_rate_spread(heads: Iterable[HeadGroupFacts]) -> float:
    """Return by how much the fastest head of a zone outdoes the slowest, by the catalogue.

    Heads are compared at one pressure, each at a spacing of its own throw.

    Parameters
    ----------
    heads : the groups of the zone, at least one, each with arc and throw; with a rated pressure
        too, unless none has one.

    Returns
    -------
    highest over lowest rate less 1 [-]; 0 is a perfect match.

    Raises
    ------
    InvalidInputError
        Code "no-heads" or "missing".
    """
    groups = _some(heads)
    is_rated_alike = len({group.rated_kpa for group in groups}) == 1
    compared_at_kpa = None if is_rated_alike else _COMPARED_AT_KPA
    rates = [_rate_of_its_own_mm_h(group, compared_at_kpa) for group in groups]
    return max(rates) / min(rates) - 1.0


def _some(groups: Iterable[HeadGroupFacts]) -> Sequence[HeadGroupFacts]:
    some = tuple(groups)
    if not some:
        raise InvalidInputError(
            "The zone has no heads.",
            field="heads", code="no-heads", remedy="Enter the heads of the zone with their flow.",
        )  # fmt: skip
    return some


def _rate_of_its_own_mm_h(group: HeadGroupFacts, actual_kpa: float | None) -> float:
    arc = ARC_DEG.number(group.arc_deg, field="arc_deg")
    throw = THROW_M.number(group.throw_m, field="throw_m")
    return float(head_rate_mm_h(group.flow_l_min(actual_kpa), arc, throw))
