"""Why a zone is watered on a day of its running plan, or is not, in words without numbers."""

from __future__ import annotations

from typing import Final

from scheduling.domain.reasons import Reason

DAY_WORDS: Final = {
    "due": "The roots would fall below what is kept before the next day on which it may water.",
    "late": "The longest time between waterings is over, and the roots have room.",
    "lack": "Rain is forecast, but the roots do not hold out: it gets only what they lack.",
    "rain-ahead": "It is due, but rain is forecast and the roots hold out until then: it waits.",
    "enough": "The roots hold enough until the next day on which it may water.",
    "too-soon": "It was watered less than its shortest time ago.",
    "forbidden-day": "It is due, but the rules do not allow this day.",
    "winter": "Nights usually freeze now: the system is shut down and drained.",
    "frost": "A night near or below freezing is forecast: the sprinklers stay off.",
    "hold": "A treatment asks for no water. What its label says binds.",
    "water-in": "A treatment is to be watered in, with no more than it allows. What its label says "
    "binds.",
    "watered-in": "A treatment has been watered in: it allows no more until its window ends.",
    "no-water-in": "A treatment is to be watered in, but no day of its window allows water: ask "
    "for an exemption, or move the treatment.",
    "step": "It is due, but one step of the controller puts down more than it may get today.",
}


def day_reason(code: str) -> Reason:
    """Return the reason of that code."""
    return Reason(code, DAY_WORDS[code], "water")
