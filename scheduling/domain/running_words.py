"""Why a zone is watered on a day of its running plan, or is not, in words without numbers."""

from __future__ import annotations

from typing import Final

from scheduling.domain.reasons import MINUTES, SHORTFALL, Reason, shortfall_reason

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
    "water-in-relieved": "The rules let nothing run today but what waters a treatment in, with no "
    "more than they allow. What its label says binds.",
    "watered-in": "A treatment has been watered in: it allows no more until its window ends.",
    "no-water-in": "A treatment is to be watered in, but no day of its window allows water: ask "
    "for an exemption, or move the treatment.",
    "step": "It is due, but one step of the controller puts down more than it may get today.",
}

MINUTES_WORDS: Final = {
    **MINUTES,
    "wanted": "The minutes put down what the roots have used, or lack until they are watered next.",
    "room": "The minutes fill the roots: more would drain away.",
    "treatment": "The minutes put down no more than the treatment allows.",
    "survival": "The plants rest: the minutes are those of an occasional watering to survive.",
}
_SHORT_BY_DAY: Final = {"forbidden-day": "weekdays", "too-soon": "shortest-days", "step": "step"}
_SHORT: Final = "The plants get less than they need today, and may wilt where that goes on."

WATER_IN_WORDS: Final = {
    "rule": "The rules let a treatment be watered in on any day, so soon after the application and "
    "with no more than stands beside. What its label says binds.",
    "no-rule": "The rules say nothing of watering in: their usual days and caps hold, and what its "
    "label says binds.",
    "no-district": "No watering district is known for this address: what its label says binds.",
}


def day_minutes_reason(code: str) -> Reason:
    """Return what decided the minutes of a day."""
    return Reason(f"minutes-{code}", MINUTES_WORDS[code], "minutes")


def deficit_reason(day_code: str, limit: str | None) -> Reason:
    """Return what leaves need of a day unmet, with what cures it where something does.

    Parameters
    ----------
    day_code : the code of why it is watered that day or not.
    limit : the code of what ended the minutes; None where it is not watered.
    """
    code = _SHORT_BY_DAY.get(day_code) or limit
    return shortfall_reason(code) if code in SHORTFALL else Reason("deficit", _SHORT, "deficit")


def water_in_reason(code: str) -> Reason:
    """Return which rules a treatment that is watered in comes under."""
    return Reason(f"water-in-{code}", WATER_IN_WORDS[code], "water_in")


def day_reason(code: str) -> Reason:
    """Return the reason of that code."""
    return Reason(code, DAY_WORDS[code], "water")
