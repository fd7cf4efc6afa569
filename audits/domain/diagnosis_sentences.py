"""The words for signs and repairs; numbers and their units stay outside, for the client's units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from audits.domain.diagnosis_signs import SignCode
from audits.domain.diagnosis_weights import CauseKind
from audits.domain.faults import FAULTS, FaultKind

_S = SignCode
_C = CauseKind

SIGN_SENTENCES: Final[dict[SignCode, str]] = {
    _S.CUPS_UNEVEN: "The cups filled less evenly than such heads should do.",
    _S.CUPS_UNEVEN_IN_WIND: "The cups filled unevenly, but the wind had a part in it.",
    _S.CUPS_EVEN: "The cups filled as evenly as such heads do when all is well.",
    _S.DRY_CUPS_TOGETHER: "The driest cups lie side by side, not here and there.",
    _S.ONE_CUP_FAR_WETTER: "The wettest cup caught far more than most.",
    _S.RATE_UNDER_NOMINAL: "The lawn gets water more slowly than its heads should give it.",
    _S.RATE_OVER_NOMINAL: "The lawn gets water faster than its heads should give it.",
    _S.FLOW_OVER_NOZZLES: "More goes through the meter than the listed nozzles can pass.",
    _S.FLOW_UNDER_NOZZLES: "Less goes through the meter than the listed nozzles should pass.",
    _S.FLOW_AS_NOZZLES: "What goes through the meter is what the listed nozzles should pass.",
    _S.MUCH_MISSED: "Much of the metered water never reached the cups.",
    _S.MOST_CAUGHT: "Nearly all of the metered water reached the lawn.",
    _S.SPRAY_MISSED: "Much of what the nozzles threw never reached the cups.",
    _S.SPRAY_OVER_NOZZLES: "More reached the cups than the listed nozzles can throw.",
    _S.PRESSURE_OVER_RATED: "The pressure at the heads is above what they are made for.",
    _S.PRESSURE_UNDER_RATED: "The pressure at the heads is below what they are made for.",
    _S.PRESSURE_AS_RATED: "The pressure at the heads is near what they are made for.",
    _S.PRESSURE_DROPS_FAR: "The pressure falls by a large part once the zone runs.",
    _S.KINDS_MIXED: "Heads of more than one kind run on the same valve.",
    _S.RATES_UNMATCHED: "The listed nozzles do not give their sectors the same rate.",
    _S.RATES_MATCHED: "The listed nozzles give their sectors about the same rate.",
    _S.SPACING_OVER_THROW: "The heads stand farther apart than they throw.",
    _S.SPACING_WITHIN_THROW: "The heads throw as far as they stand apart.",
    _S.MORE_THAN_NEEDED: "The program as found gives more water than the plants need.",
    _S.MORE_THAN_SHADE_NEEDS: "The program as found gives more water than the shaded plants need.",
    _S.LESS_THAN_NEEDED: "The program as found gives less water than the plants need.",
    _S.AS_MUCH_AS_NEEDED: "The program as found gives about what the plants need.",
}

# The dimension of number and limit where it is not a bare ratio; names as in properties' units.
SIGN_QUANTITIES: Final = {_S.PRESSURE_OVER_RATED: "pressure", _S.PRESSURE_UNDER_RATED: "pressure"}


@dataclass(frozen=True)
class Repair:
    """What to do, and what to bring for it."""

    code: str
    sentence: str
    parts: tuple[str, ...] = ()


REPAIRS: Final[dict[CauseKind, Repair]] = {
    _C.LEANING_OR_TURNED_HEAD: Repair(
        "set-upright", "Set the head upright, turn it to its area and firm the soil."
    ),
    _C.SUNKEN_OR_BLOCKED_HEAD: Repair(
        "raise-or-clear", "Raise the head to grade and cut back what stands before it.",
        ("riser extension",),
    ),
    _C.CLOGGED_OR_WORN_NOZZLE: Repair(
        "clean-nozzle", "Clean filter and nozzle; replace a worn nozzle by one of equal rate.",
        ("nozzle", "filter screen"),
    ),
    _C.WRONG_NOZZLE: Repair(
        "fit-matched-nozzle", "Fit the nozzle whose rate matches its neighbours and its arc.",
        ("nozzle",),
    ),
    _C.MIXED_HEADS: Repair(
        "match-heads", "Bring the zone to heads of one kind and one matched rate.",
        ("heads", "nozzles"),
    ),
    _C.POOR_SPACING: Repair(
        "restore-head-to-head", "Fit nozzles of longer throw, or add heads, until each head "
        "reaches the next.", ("nozzles", "heads"),
    ),
    _C.TOO_MANY_HEADS: Repair(
        "lower-demand", "Look for a half-closed valve or a clogged screen first; then fit nozzles "
        "of lower flow or split the zone.", ("nozzles", "valve"),
    ),
    _C.PRESSURE_TOO_HIGH: Repair(
        "reduce-pressure", "Reduce the pressure at the valve, or fit pressure-regulated heads.",
        ("pressure regulator",),
    ),
    _C.LEAK: Repair(
        "find-leak", "Find the leak with the zone running: seals, risers, fittings, then the "
        "line; mend it and meter again.", ("seal", "riser", "fitting"),
    ),
    _C.OVERSPRAY: Repair(
        "trim-to-edge", "Set arc and throw to the edge of the lawn, or fit nozzles that do.",
        ("nozzle",),
    ),
    _C.OVERWATERING: Repair(
        "shorten-program", "Set the zone's minutes and days to what its plants need."
    ),
    _C.UNDERWATERING: Repair(
        "lengthen-program", "Set the zone's minutes and days to what its plants need."
    ),
}  # fmt: skip


def sentence_of(code: SignCode | FaultKind) -> str:
    """Return the sign in words; a fault by the name that the trade gives it."""
    if isinstance(code, FaultKind):
        return f"{FAULTS[code].label} seen on the ground."
    return SIGN_SENTENCES[code]
