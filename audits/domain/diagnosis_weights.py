"""How much each sign speaks for or against each cause: the whole judgement, in one table.

A weight is the natural logarithm of a likelihood ratio: how many times more often the sign shows
where the cause is at work than where it is not (+0.7 twice, +2.3 ten times, -1.6 a fifth). The
weights are our own estimates from common practice of sprinkler audits, not from a study: what was
seen at the head itself weighs most, a symptom that several causes share little, and a cause is
weighed against where another that was found explains its signs.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from audits.domain.diagnosis_signs import SignCode
from audits.domain.faults import FaultKind


class CauseKind(StrEnum):
    LEANING_OR_TURNED_HEAD = "leaning_or_turned_head"
    SUNKEN_OR_BLOCKED_HEAD = "sunken_or_blocked_head"
    CLOGGED_OR_WORN_NOZZLE = "clogged_or_worn_nozzle"
    WRONG_NOZZLE = "wrong_nozzle"
    MIXED_HEADS = "mixed_heads"
    POOR_SPACING = "poor_spacing"
    TOO_MANY_HEADS = "too_many_heads"
    PRESSURE_TOO_HIGH = "pressure_too_high"
    LEAK = "leak"
    OVERSPRAY = "overspray"
    OVERWATERING = "overwatering"
    UNDERWATERING = "underwatering"


# Before anything is looked at, one zone in ten has any given cause: ln(0.1 / 0.9).
PRIOR: Final = -2.2

_C = CauseKind
_S = SignCode
_F = FaultKind

WEIGHTS: Final[dict[CauseKind, dict[SignCode | FaultKind, float]]] = {
    _C.LEANING_OR_TURNED_HEAD: {
        _F.LEANING: 3.6, _F.TURNED: 3.6, _F.TILTED_BY_RISER: 3.6, _F.DRY_SPOT: 1.7,
        _S.CUPS_UNEVEN: 1.5, _S.CUPS_UNEVEN_IN_WIND: 0.5, _S.DRY_CUPS_TOGETHER: 0.7,
        _S.ONE_CUP_FAR_WETTER: 1.5, _S.SPRAY_MISSED: 0.8, _S.CUPS_EVEN: -0.8,
        _S.FLOW_UNDER_NOZZLES: -0.8, _S.FLOW_OVER_NOZZLES: -0.8,
        # These make the cups uneven by themselves.
        _S.PRESSURE_UNDER_RATED: -1.0, _S.PRESSURE_OVER_RATED: -0.8, _S.KINDS_MIXED: -1.5,
        _S.RATES_UNMATCHED: -1.0,
    },
    _C.SUNKEN_OR_BLOCKED_HEAD: {
        _F.SUNKEN: 2.5, _F.BLOCKED_BY_PLANTS: 2.5, _F.DRY_SPOT: 0.3,
        _S.CUPS_UNEVEN: 0.8, _S.CUPS_UNEVEN_IN_WIND: 0.3, _S.DRY_CUPS_TOGETHER: 0.5,
        _S.CUPS_EVEN: -2.0,
    },
    _C.CLOGGED_OR_WORN_NOZZLE: {
        _F.CLOGGED_NOZZLE: 3.6, _F.WORN_NOZZLE: 3.6, _F.DOES_NOT_REACH_NEXT_HEAD: 1.5,
        _F.DRY_SPOT: 1.0, _S.FLOW_UNDER_NOZZLES: 3.2, _S.CUPS_UNEVEN: 1.0,
        _S.CUPS_UNEVEN_IN_WIND: 0.4, _S.DRY_CUPS_TOGETHER: 0.5, _S.RATE_UNDER_NOMINAL: 0.4,
        # One nozzle of twelve is within the error of the meter.
        _S.CUPS_EVEN: -0.6, _S.FLOW_AS_NOZZLES: -1.2, _S.PRESSURE_UNDER_RATED: -0.8,
        # A clogged nozzle passes less, a worn one more: an excess speaks little against the two.
        _S.FLOW_OVER_NOZZLES: -0.8,
        # Nozzles that are not as listed make the flow to be expected doubtful.
        _F.WRONG_NOZZLE: -1.5, _F.MIXED_HEADS: -1.5,
    },
    _C.WRONG_NOZZLE: {
        _F.WRONG_NOZZLE: 4.2, _F.WRONG_THROW: 2.0, _F.WET_SPOT: 0.5, _S.RATES_UNMATCHED: 3.0,
        _S.ONE_CUP_FAR_WETTER: 1.4, _S.FLOW_OVER_NOZZLES: 1.6, _S.SPRAY_OVER_NOZZLES: 1.8,
        _S.RATE_OVER_NOMINAL: 0.4, _S.CUPS_UNEVEN: 0.7, _S.CUPS_UNEVEN_IN_WIND: 0.3,
        _S.RATES_MATCHED: -0.6, _S.KINDS_MIXED: -2.5, _F.MIXED_HEADS: -2.0,
    },
    _C.MIXED_HEADS: {
        _F.MIXED_HEADS: 4.2, _S.KINDS_MIXED: 3.8, _S.RATES_UNMATCHED: 0.6,
        _S.ONE_CUP_FAR_WETTER: 0.8, _S.CUPS_UNEVEN: 1.0, _S.CUPS_UNEVEN_IN_WIND: 0.3,
        _S.CUPS_EVEN: -0.5,
    },
    _C.POOR_SPACING: {
        _S.SPACING_OVER_THROW: 3.2, _F.DOES_NOT_REACH_NEXT_HEAD: 1.2, _F.WRONG_THROW: 1.0,
        _S.CUPS_UNEVEN: 0.9, _S.CUPS_UNEVEN_IN_WIND: 0.3, _S.CUPS_EVEN: -1.2,
        _S.SPACING_WITHIN_THROW: -2.0, _S.PRESSURE_UNDER_RATED: -1.0,
    },
    _C.TOO_MANY_HEADS: {
        _S.PRESSURE_UNDER_RATED: 3.2, _S.PRESSURE_DROPS_FAR: 1.2, _F.WEAK_PRESSURE: 3.2,
        _F.DOES_NOT_REACH_NEXT_HEAD: 1.2, _S.CUPS_UNEVEN: 0.8, _S.CUPS_UNEVEN_IN_WIND: 0.3,
        _S.RATE_UNDER_NOMINAL: 0.5, _S.PRESSURE_AS_RATED: -3.0, _S.PRESSURE_OVER_RATED: -3.0,
        # What flows beside the listed nozzles takes the pressure too.
        _S.FLOW_OVER_NOZZLES: -1.5,
    },
    _C.PRESSURE_TOO_HIGH: {
        _S.PRESSURE_OVER_RATED: 3.6, _F.MISTING: 3.4, _S.MUCH_MISSED: 0.8,
        _S.MOST_CAUGHT: -0.8, _S.PRESSURE_AS_RATED: -3.0, _S.PRESSURE_UNDER_RATED: -3.0,
    },
    _C.LEAK: {
        _S.FLOW_OVER_NOZZLES: 3.3, _F.BROKEN: 3.0, _F.VALVE_DOES_NOT_CLOSE: 2.4,
        _F.LEAKING_SEAL: 2.4, _F.WET_SPOT: 0.9, _F.DRAINS_FROM_LOWEST_HEAD: 0.6,
        _S.MUCH_MISSED: 2.0, _S.MOST_CAUGHT: -0.6, _S.FLOW_AS_NOZZLES: -4.0,
        _S.FLOW_UNDER_NOZZLES: -3.0,
        # A leak loses water before the nozzles, neither after them nor through them.
        _S.SPRAY_MISSED: -1.0, _S.SPRAY_OVER_NOZZLES: -1.5,
        # As with clogged nozzles.
        _F.WRONG_NOZZLE: -1.5, _F.MIXED_HEADS: -1.5,
    },
    _C.OVERSPRAY: {
        _F.SPRAYS_PAVING: 3.0, _F.WRONG_ARC: 3.8, _F.WRONG_THROW: 0.8, _F.RUNOFF: 0.7,
        _S.SPRAY_MISSED: 2.8, _S.MUCH_MISSED: 0.6, _S.RATE_UNDER_NOMINAL: 0.5, _S.MOST_CAUGHT: -2.0,
        _S.FLOW_OVER_NOZZLES: -1.2, _S.FLOW_UNDER_NOZZLES: -0.8,
        # Mist drifts away, and too high a pressure throws too far.
        _S.PRESSURE_OVER_RATED: -3.0, _F.MISTING: -1.0,
        # A head that leans or is turned throws off the lawn without being set to.
        _F.LEANING: -1.0, _F.TURNED: -1.0, _F.TILTED_BY_RISER: -1.0,
    },
    _C.OVERWATERING: {
        _S.MORE_THAN_NEEDED: 2.4, _S.MORE_THAN_SHADE_NEEDS: 3.4, _F.RUNOFF: 2.1,
        _F.WET_SPOT: 1.9, _S.AS_MUCH_AS_NEEDED: -2.0, _S.LESS_THAN_NEEDED: -3.0,
        # Too much by the nozzle or the pressure is not cured at the controller.
        _F.WRONG_NOZZLE: -1.5, _F.MIXED_HEADS: -1.0, _S.RATES_UNMATCHED: -1.0,
        _S.KINDS_MIXED: -1.0, _S.PRESSURE_OVER_RATED: -1.0,
    },
    _C.UNDERWATERING: {
        _S.LESS_THAN_NEEDED: 2.6, _F.DRY_SPOT: 0.6, _S.AS_MUCH_AS_NEEDED: -2.0,
        _S.MORE_THAN_NEEDED: -3.0, _S.MORE_THAN_SHADE_NEEDS: -3.0, _S.RATE_UNDER_NOMINAL: -1.0,
    },
}  # fmt: skip
