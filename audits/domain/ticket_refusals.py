"""The refusals of a ticket's moves: each names the field that puts the move right."""

from __future__ import annotations

from typing import Final

from properties.domain.errors import RefusedError

# What puts a refused move right; where nothing that is sent would, it is the state.
CURED_BY: Final[dict[str, str]] = {
    "agreement-without-person": "person",
    "agreement-without-moment": "agreed_at",
    "unbooking-without-reason": "reason",
    "booking-without-visit": "visit",
    "technician-missing": "visit",
    "licence-missing": "visit",
    "licence-not-valid": "visit",
    "mending-without-visit": "visit",
    "mending-without-technician": "visit",
    "mending-without-moment": "mended_at",
    "proof-missing": "kind",
    "proof-does-not-fit": "kind",
    "proof-before-mending": "seen_at",
    "declined-without-person": "person",
    "void-without-reason": "reason",
}


def require(holds: bool, code: str, detail: str, remedy: str) -> None:
    """Return if it holds, or refuse."""
    if not holds:
        raise refusal(code, detail, remedy)


def refusal(code: str, detail: str, remedy: str) -> RefusedError:
    """Return the refusal of a move, at the field that cures it."""
    return RefusedError(detail, code=code, remedy=remedy, field=CURED_BY.get(code, "state"))
