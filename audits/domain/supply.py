"""Too little, about right or too much: the one band that says how water stands to need."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

# Supply over need [-] between which the water is about right (common practice: neither a
# controller nor a catch test is truer than about an eighth).
ABOUT_RIGHT_FROM: Final = 0.875
ABOUT_RIGHT_BELOW: Final = 1.125
# A miss below this is no fault, however small the need (common practice: no sprinkler controller
# can be set finer in a week).
NEGLIGIBLE_MM: Final = 1.0


class Supply(StrEnum):
    """How the water of a zone stands to its need."""

    TOO_LITTLE = "too_little"
    ABOUT_RIGHT = "about_right"
    TOO_MUCH = "too_much"
    UNKNOWN = "unknown"


SUPPLY_WORDS: Final[dict[Supply, str]] = {
    Supply.TOO_LITTLE: "too little",
    Supply.ABOUT_RIGHT: "about right",
    Supply.TOO_MUCH: "too much",
    Supply.UNKNOWN: "unknown",
}


def supply_verdict(found_mm: float | None, needed_mm: float | None) -> Supply:
    """Return whether a depth is too little, about right or too much for a need.

    Parameters
    ----------
    found_mm, needed_mm : depths over the same time [mm], 0 or more; None is unknown.

    References
    ----------
    Common practice: about right from 0.875 to below 1.125 times the need, or within 1 mm of it.
    """
    if found_mm is None or needed_mm is None:
        return Supply.UNKNOWN
    if found_mm < min(ABOUT_RIGHT_FROM * needed_mm, needed_mm - NEGLIGIBLE_MM):
        return Supply.TOO_LITTLE
    if found_mm >= max(ABOUT_RIGHT_BELOW * needed_mm, needed_mm + NEGLIGIBLE_MM):
        return Supply.TOO_MUCH
    return Supply.ABOUT_RIGHT
