"""What shows that a repair has cured its fault, and which repairs open the main line.

Both tables are common practice. Whether a licence is needed beyond them is for the local code, so a
ticket can always ask for one.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from audits.domain.faults import FaultKind


class ProofKind(StrEnum):
    """How it was seen that a fault is gone."""

    PAIRED_RETEST = "paired_retest"
    READING = "reading"
    FUNCTION_CHECK = "function_check"
    PHOTO = "photo"


PROOF_WORDS: Final[dict[ProofKind, str]] = {
    ProofKind.PAIRED_RETEST: "a catch test with the cups at the places of the first one",
    ProofKind.READING: "a reading of meter or pressure gauge",
    ProofKind.FUNCTION_CHECK: "a check of the part at work",
    ProofKind.PHOTO: "a photo",
}

_RETEST: Final = frozenset({ProofKind.PAIRED_RETEST})
_CHECK: Final = frozenset({ProofKind.FUNCTION_CHECK})
_READ: Final = frozenset({ProofKind.READING})
_PHOTO: Final = frozenset({ProofKind.PHOTO})

FITTING_PROOFS: Final[dict[FaultKind, frozenset[ProofKind]]] = {
    # How a head stands can be seen.
    FaultKind.LEANING: _RETEST | _CHECK | _PHOTO,
    FaultKind.TURNED: _RETEST | _CHECK | _PHOTO,
    FaultKind.SUNKEN: _RETEST | _CHECK | _PHOTO,
    FaultKind.TILTED_BY_RISER: _RETEST | _CHECK | _PHOTO,
    FaultKind.BLOCKED_BY_PLANTS: _RETEST | _CHECK | _PHOTO,
    FaultKind.SPRAYS_PAVING: _CHECK | _PHOTO,
    # How a head works is seen while it runs.
    FaultKind.WRONG_ARC: _RETEST | _CHECK,
    FaultKind.CLOGGED_NOZZLE: _RETEST | _CHECK,
    FaultKind.BROKEN: _RETEST | _CHECK,
    FaultKind.DRAINS_FROM_LOWEST_HEAD: _CHECK,
    FaultKind.LEAKING_SEAL: _CHECK | _READ,
    # How much it throws, and how far, must be measured.
    FaultKind.WRONG_THROW: _RETEST,
    FaultKind.DOES_NOT_REACH_NEXT_HEAD: _RETEST,
    FaultKind.MIXED_HEADS: _RETEST,
    FaultKind.DRY_SPOT: _RETEST,
    FaultKind.WORN_NOZZLE: _RETEST | _READ,
    FaultKind.WRONG_NOZZLE: _RETEST | _READ,
    FaultKind.MISTING: _RETEST | _READ,
    FaultKind.WEAK_PRESSURE: _RETEST | _READ,
    FaultKind.WET_SPOT: _RETEST | _READ | _CHECK,
    # Valves, wires and sensors are tried.
    FaultKind.VALVE_DOES_NOT_OPEN: _CHECK | _READ,
    FaultKind.VALVE_DOES_NOT_CLOSE: _CHECK | _READ,
    FaultKind.WIRING: _CHECK,
    FaultKind.NO_WORKING_RAIN_SENSOR: _CHECK,
    FaultKind.RUNOFF: _CHECK,
}

# A valve is fed by the main line, which opens with it.
OPENS_MAIN_LINE: Final[frozenset[FaultKind]] = frozenset(
    {FaultKind.VALVE_DOES_NOT_OPEN, FaultKind.VALVE_DOES_NOT_CLOSE}
)


def fitting_proofs(fault: FaultKind) -> tuple[ProofKind, ...]:
    """Return the kinds of proof that fit a fault, each of which is enough, in a fixed order."""
    return tuple(kind for kind in ProofKind if kind in FITTING_PROOFS[fault])


def proofs_in_words(fault: FaultKind) -> str:
    """Return the proofs that fit a fault, as the end of a sentence."""
    return " or ".join(PROOF_WORDS[kind] for kind in fitting_proofs(fault))
