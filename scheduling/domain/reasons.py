"""Why a plan is as it is: which limit decided each number, in words without numbers.

The numbers stand in the plan, so that a document can show them in the reader's units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Reason:
    """One decision of a plan and the sentence that explains it; `about` is what was decided."""

    code: str
    sentence: str
    about: str = ""


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

MINUTES: Final = {
    "gaps": "The minutes put down what the plants use from one watering to the next.",
    "store": "The minutes put down what the roots readily hold: more would drain away.",
    "soil-day": "The soil takes no more in one day, so the minutes end there.",
    "rule-depth": "The rules cap the depth of the day, so the minutes end there.",
    "rule-minutes": "The rules cap the minutes of the day, so they end there.",
    "starts": "The controller has only so many starts for the cycles, so the minutes end there.",
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
    "need": "The weather decides the need: the reference evapotranspiration of the month, times "
    "what plants, quality and site take of it. Rain is not subtracted.",
    "no-need": "The plants need next to nothing this month, so nothing is watered.",
    "winter": "Nights usually freeze this month: the system is shut down and drained. In a dry "
    "spell above freezing, water by hand.",
    "no-day-allowed": "The rules allow no day at all, so nothing is watered. "
    "The plants live on rain; an exemption cures it.",
    "measured-rate": "The cups told the rate, which decides the minutes.",
    "estimated-rate": "Nobody has tested the zone: its rate is an estimate from its heads.",
    "estimated-hose-rate": "Nobody has set out cups: the rate is an estimate from what the hose "
    "gives.",
    "emitter-rate": "No cups tell the rate: it is an estimate from emitters that were caught one "
    "by one and from the ground that they wet.",
    "measured-uniformity": "The measured uniformity decides how far the minutes are lengthened.",
    "emitter-uniformity": "The emitters that were caught one by one tell the uniformity, which "
    "decides how far the minutes are lengthened.",
    "leaning-emitters": "Fewer than twelve emitters tell little of the uniformity, so the "
    "published one of drip counts for the missing ones.",
    "pooled-uniformity": "Cups that were poured together tell no uniformity, so the published one "
    "of the head kind is assumed.",
    "leaning-uniformity": "Fewer than twelve cups tell little of the uniformity, so the published "
    "one of the head kind counts for the missing ones.",
    "assumed-uniformity": "No test with separate cups tells the uniformity, so the published one "
    "of the head kind is assumed.",
    "mended-uniformity": "The uniformity was measured before a repair and is better by now: the "
    "better of it and the published one of the head kind counts until a retest.",
    "mended-rate": "The rate was measured before a repair: still nearer than a list of heads, but "
    "a retest is awaited.",
    "multiplier-capped": "The minutes are lengthened up to the company's limit and no further.",
    "repair-first": "The zone is too uneven for more water to help: repair it first. The water "
    "that would make up for it stands beside.",
    "new-planting": "The planting is new: its roots are shallow, so it is watered short and often, "
    "and less often as they grow.",
    "overseeded": "Cool-season grass stands in the turf: its need and its roots count.",
    "dormant": "The plants rest: they get an occasional watering to survive, and do not turn "
    "green by it.",
    "several-a-day": "The roots hold less than a day of need, so it waters several times a day.",
    "gap-over-longest": "The allowed days lie further apart than the zone's longest time between.",
    "least-step": "One step of the controller is the least that can be set, and more than asked.",
}

_ABOUT: Final = {
    **dict.fromkeys(
        (
            "measured-rate", "estimated-rate", "estimated-hose-rate", "emitter-rate",
            "mended-rate",
        ),
        "rate",
    ),
    **dict.fromkeys(
        (
            "measured-uniformity", "emitter-uniformity", "leaning-uniformity", "leaning-emitters",
            "pooled-uniformity", "assumed-uniformity", "mended-uniformity", "multiplier-capped",
            "repair-first",
        ),
        "multiplier",
    ),
    **dict.fromkeys(("no-need", "winter", "no-day-allowed"), "days_between"),
    **dict.fromkeys(("need", "new-planting", "overseeded", "dormant"), "need"),
    "several-a-day": "waterings_per_day",
    "gap-over-longest": "days_between",
    "least-step": "minutes",
}  # fmt: skip


def fact(code: str) -> Reason:
    """Return the reason of that code."""
    return Reason(code, FACTS[code], _ABOUT.get(code, ""))


def days_reason(code: str) -> Reason:
    """Return what decided the days between."""
    return Reason(code, DAYS[code], "days_between")


def minutes_reason(code: str) -> Reason:
    """Return what decided the minutes."""
    return Reason(f"minutes-{code}", MINUTES[code], "minutes")


def cycles_reason(code: str) -> Reason:
    """Return what decided the number of cycles."""
    return Reason(code, CYCLES[code], "cycles")


def shortfall_reason(code: str) -> Reason:
    """Return what leaves need unmet, with its consequence and its cure."""
    return Reason(f"shortfall-{code}", SHORTFALL[code], "shortfall")
