"""What others measured on lawns like these, for when the own cups are too few to say."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from audits.domain.ranges import FRACTION
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

# Mean residential DU_lq, J. Irrig. Drain. Eng. 131(4), 2005, "Analysis of Residential Irrigation
# Distribution Uniformity" (abstract): rotors 0.49, sprays 0.41, all homes 0.45.
FIELD_DU_LQ: Final = {HeadKind.ROTOR: 0.49, HeadKind.SPRAY: 0.41}
FIELD_DU_LQ_OVERALL: Final = 0.45

# The driest quarter of a normal distribution averages 1.27 standard deviations below the mean.
LOW_QUARTER_DEVIATIONS: Final = 1.27

NEW_HOME_DU_LQ: Final = 0.65

_POINT_HEADS: Final = {HeadKind.DRIP, HeadKind.BUBBLER}


class Quality(StrEnum):
    """How a measured uniformity compares with what the head kind can do."""

    EXCELLENT = "excellent"
    VERY_GOOD = "very_good"
    GOOD = "good"
    FAIR = "fair"
    POOR = "poor"


# Least DU_lq of each grade; Irrigation Association scheduling guide, 2005 (from memory).
QUALITY_DU_LQ: Final[dict[HeadKind, dict[Quality, float]]] = {
    HeadKind.ROTOR: dict(zip(Quality, (0.80, 0.70, 0.65, 0.60, 0.50), strict=True)),
    HeadKind.SPRAY: dict(zip(Quality, (0.75, 0.65, 0.55, 0.50, 0.40), strict=True)),
}


def assumed_du_lq(head_kind: HeadKind | None = None) -> float:
    """Return the published low-quarter uniformity to assume for a head kind, a fraction.

    Sprinklers other than sprays and rotors, and unknown ones, take the mean of all homes.

    Raises
    ------
    InvalidInputError
        For drip and bubblers, of which the study says nothing.

    References
    ----------
    J. Irrig. Drain. Eng. 131(4), 2005, "Analysis of Residential Irrigation Distribution
    Uniformity".
    """
    if head_kind in _POINT_HEADS:
        raise InvalidInputError(
            "There is no published uniformity of drip emitters and bubblers on lawns.",
            field="head_kind", code="no-published-uniformity",
            remedy="Catch the water of at least four emitters one by one.",
        )  # fmt: skip
    return _field_du_lq(head_kind)


def field_cv(head_kind: HeadKind | None = None) -> float:
    """Return the published spread of catch depths in a zone: standard deviation over mean.

    From the published uniformity by DU_lq = 1 - 1.27 CV, which holds for normally distributed
    depths. Drip and bubblers take the mean of all homes, which is rather too wide for them.
    """
    return (1.0 - _field_du_lq(head_kind)) / LOW_QUARTER_DEVIATIONS


def quality(low_quarter_uniformity: float, head_kind: HeadKind) -> Quality | None:
    """Return the grade of a measured DU_lq [fraction]; None for kinds that have no grades.

    What lies below the least grade is poor as well.
    """
    measured = FRACTION.number(low_quarter_uniformity, field="low_quarter_uniformity")
    limits = QUALITY_DU_LQ.get(head_kind)
    if limits is None:
        return None
    return next((grade for grade, least in limits.items() if measured >= least), Quality.POOR)


def meets_new_home_limit(low_quarter_uniformity: float) -> bool:
    """Return whether a measured DU_lq [fraction] passes the audit of a labelled new home.

    References
    ----------
    US EPA WaterSense, Guidelines for Irrigation Audits on Labeled New Homes, section A: 65 % or
    greater, on the largest spray-irrigated turf area.
    """
    measured = FRACTION.number(low_quarter_uniformity, field="low_quarter_uniformity")
    return measured >= NEW_HOME_DU_LQ


def _field_du_lq(head_kind: HeadKind | None) -> float:
    if head_kind is None:
        return FIELD_DU_LQ_OVERALL
    return FIELD_DU_LQ.get(head_kind, FIELD_DU_LQ_OVERALL)
