"""Why a plan is as it is: which limit decided each number, in words without numbers.

The numbers stand in the plan, so that a document can show them in the reader's units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Reason:
    """One decision of a plan and the sentence that explains it."""

    code: str
    sentence: str


DAYS: Final = {
    "store": "The roots hold this many days of need, so they decide the days between.",
    "soil-day": "The soil takes only so much in one day, so the zone waters more often with less.",
    "rule-depth": "The rules cap the depth of a day, so the zone waters more often with less.",
    "rule-minutes": "The rules cap the minutes of a day, so the zone waters more often with less.",
    "starts": "The controller has only so many starts, so the zone waters more often with less.",
    "weekdays": "The rules name the weekdays, so the days between follow them.",
    "shortest-days": "The zone's shortest time between waterings decides.",
    "longest-days": "The roots would last longer; the longest time between waterings decides.",
}

CYCLES: Final = {
    "soil-cycle": "Water would run off in one go, so the minutes are divided, with a soak between.",
    "longest-run": "The controller's longest run is too short, so the minutes are divided.",
}

_CONSEQUENCE: Final = "The plants get less than they need and may wilt."
SHORTFALL: Final = {
    "store": f"The roots hold less than the need, however often it waters. {_CONSEQUENCE} "
    "Deeper roots, or more starts on the controller, cure it.",
    "soil-day": f"The soil cannot take the need in the days there are. {_CONSEQUENCE} "
    "Loosening the soil, or accepting a lower quality of the planting, cures it.",
    "rule-depth": f"The daily depth allowed does not cover the need. {_CONSEQUENCE} "
    "An exemption, or plants that need less, cures it.",
    "rule-minutes": f"The daily minutes allowed do not cover the need. {_CONSEQUENCE} "
    "A more even zone, an exemption, or plants that need less, cures it.",
    "starts": f"The controller has too few starts for the cycles needed. {_CONSEQUENCE} "
    "Nozzles of a lower rate, or a second program, cure it.",
    "weekdays": f"The allowed days lie further apart than the roots can last. {_CONSEQUENCE} "
    "An exemption, deeper roots, or plants that need less, cure it.",
    "shortest-days": f"The zone's shortest time between waterings is too long. {_CONSEQUENCE} "
    "Allowing it to water more often cures it.",
    "step": "The controller's step had to be rounded down, to keep within what roots, soil and "
    "rules allow. A finer step, or nozzles of a lower rate, cures it.",
}

FACTS: Final = {
    "no-need": "The plants need next to nothing this month, so nothing is watered.",
    "winter": "Nights usually freeze this month: the system is shut down and drained. In a dry "
    "spell above freezing, water by hand.",
    "no-day-allowed": "The rules allow no day at all, so nothing is watered. "
    "The plants live on rain; an exemption cures it.",
    "estimated-rate": "Nobody has tested the zone: its rate is an estimate from its heads.",
    "measured-uniformity": "The measured uniformity decides how far the minutes are lengthened.",
    "leaning-uniformity": "Fewer than twelve cups tell little of the uniformity, so the published "
    "one of the head kind counts for the missing ones.",
    "assumed-uniformity": "No test with separate cups tells the uniformity, so the published one "
    "of the head kind is assumed.",
    "multiplier-capped": "The minutes are lengthened up to the company's limit and no further.",
    "repair-first": "The zone is too uneven for more water to help: repair it first.",
    "several-a-day": "The roots hold less than a day of need, so it waters several times a day.",
    "gap-over-longest": "The allowed days lie further apart than the zone's longest time between.",
    "least-step": "One step of the controller is the least that can be set, and more than asked.",
}


def fact(code: str) -> Reason:
    """Return the reason of that code."""
    return Reason(code, FACTS[code])
