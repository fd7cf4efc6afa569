"""What is looked at on a visit of each kind, and what to beware of.

The items are common practice in our own words. They remind, they do not teach: local codes, makers'
limits and the licensed trade come first.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class VisitKind(StrEnum):
    """Why somebody goes there."""

    AUDIT = "audit"
    SEASON_START = "season_start"
    WINTER_SHUT_DOWN = "winter_shut_down"
    REPAIR = "repair"
    RETEST = "retest"
    SERVICE_CALL = "service_call"


@dataclass(frozen=True)
class ChecklistItem:
    """One item: its code, what to do in a sentence, and whether it is a caution."""

    code: str
    sentence: str
    is_caution: bool = False


def _caution(code: str, sentence: str) -> ChecklistItem:
    return ChecklistItem(code, sentence, is_caution=True)


_RULES: Final = _caution(
    "watering-rules",
    "Look up whether watering is allowed today; on other days a test may need an exemption.",
)
_SITE: Final = _caution(
    "site",
    "Mind animals, children, wet walks, traffic and lightning; take shade and water in heat.",
)
_BOXES: Final = _caution("valve-boxes", "Look before you reach: insects and snakes live in boxes.")
_MAINS: Final = _caution(
    "mains",
    "The controller and any pump start are on mains: switch off first, and leave mains wiring to "
    "an electrician.",
)
_PRESSURE: Final = _caution(
    "pressure", "Shut the supply and let the pressure out before anything is unscrewed."
)
_DIGGING: Final = _caution(
    "digging",
    "Before any digging have buried lines marked (in the United States call 811); then expose by "
    "hand.",
)
_MAIN_LINE: Final = _caution(
    "main-line",
    "Work that opens the main line belongs to a licensed technician, as does whatever else the "
    "local code licenses.",
)
_CEMENT: Final = _caution("cement", "Use solvent cement in moving air, away from flame.")
_AIR_PRESSURE: Final = _caution(
    "air-pressure",
    "Keep the air below the lowest limit that the makers give for pipe, valves and heads; set the "
    "regulator before the hose is joined.",
)
_EYES: Final = _caution("eyes", "Wear eye protection from the first air to the last.")
_NOBODY_OVER_HEADS: Final = _caution(
    "nobody-over-heads", "Let nobody stand or lean over a head or a valve while air is on."
)
_NO_AIR_THROUGH_BACKFLOW: Final = _caution(
    "no-air-through-backflow",
    "Never blow through a pump or a backflow assembly: join the air behind them.",
)

_BACKFLOW: Final = ChecklistItem(
    "backflow-test",
    "Read the date of the last backflow test; if one is due, name it to the client: whom the local "
    "code licenses does it.",
)
_FOUND_PROGRAM: Final = ChecklistItem(
    "found-program",
    "Write down the program as found before touching it: clock, every start, days, minutes and "
    "percent.",
)
_CONTROLLER_ON: Final = ChecklistItem(
    "controller-on", "Leave the controller on, with the program agreed and the right time and date."
)
_CONTROLLER_OFF: Final = ChecklistItem(
    "controller-off",
    "Set the controller to off or rain, keep its program, and write down how it was left.",
)
_BATTERY: Final = ChecklistItem("battery", "Try the back-up battery and replace it if it is weak.")
_RAIN_SENSOR: Final = ChecklistItem(
    "rain-sensor", "Wet the rain sensor, or press its pin: a running zone must stop."
)
_LEAKS: Final = ChecklistItem(
    "leaks", "With all zones off read the meter twice: it must stand still."
)
_EACH_ZONE: Final = ChecklistItem(
    "each-zone", "Run each zone and walk it: heads up, turned right, unblocked, off the paving."
)
_STANDING_WATER: Final = ChecklistItem(
    "standing-water", "Look for standing water and runoff: puddles breed mosquitoes."
)
_STATIC_PRESSURE: Final = ChecklistItem(
    "pressure-reading", "Read the pressure at rest and with a zone running."
)
_SYMPTOMS: Final = ChecklistItem(
    "symptoms", "Note what plants show and where; name no disease or pest as certain."
)
_CUPS: Final = ChecklistItem(
    "cups", "Set level, equal cups on an even grid, read the wind, and run long enough to measure."
)
_SAME_PLACES: Final = ChecklistItem(
    "same-places", "Set the cups at the places of the first test, as many as then."
)
_MEND_FIRST: Final = ChecklistItem(
    "mend-first", "Mend what is quickly mended before the test, or test before and after."
)
_SHUT_SUPPLY: Final = ChecklistItem(
    "supply-shut", "Shut the irrigation supply and check that it holds."
)
_DRAIN: Final = ChecklistItem(
    "drain", "Drain or blow out zone by zone, the farthest first, in short turns until only mist."
)
_BACKFLOW_WINTER: Final = ChecklistItem(
    "backflow-winter", "Drain the backflow assembly and protect it from frost as its maker says."
)
_OPEN_SLOWLY: Final = ChecklistItem(
    "open-slowly", "Open the supply slowly, with a zone open to let the air out."
)
_TICKETS: Final = ChecklistItem("tickets", "Go through the tickets booked on this visit.")
_AGREED: Final = ChecklistItem("agreed", "Do what was agreed; ask before anything more.")
_TRY_REPAIR: Final = ChecklistItem(
    "try-repair", "Flush the line, run the zone, and take the proof that the ticket asks for."
)
_COMPLAINT: Final = ChecklistItem("complaint", "Have the client show what is wrong, and note it.")
_PHOTOS: Final = ChecklistItem("photos", "Take photos of findings, without people in them.")

_OPENING: Final = (_MAINS, _PRESSURE, _BOXES)
_REPAIRING: Final = (*_OPENING, _DIGGING, _MAIN_LINE, _CEMENT)

CHECKLISTS: Final[dict[VisitKind, tuple[ChecklistItem, ...]]] = {
    VisitKind.AUDIT: (
        _SITE, _RULES, _MAINS, _FOUND_PROGRAM, _BATTERY, _RAIN_SENSOR, _BACKFLOW, _LEAKS,
        _STATIC_PRESSURE, _EACH_ZONE, _STANDING_WATER, _SYMPTOMS, _MEND_FIRST, _CUPS, _PHOTOS,
        _CONTROLLER_ON,
    ),
    VisitKind.SEASON_START: (
        _SITE, _RULES, *_OPENING, _BACKFLOW, _OPEN_SLOWLY, _LEAKS, _STATIC_PRESSURE, _EACH_ZONE,
        _STANDING_WATER, _FOUND_PROGRAM, _BATTERY, _RAIN_SENSOR, _CONTROLLER_ON,
    ),
    VisitKind.WINTER_SHUT_DOWN: (
        _SITE, *_OPENING, _AIR_PRESSURE, _EYES, _NOBODY_OVER_HEADS, _NO_AIR_THROUGH_BACKFLOW,
        _FOUND_PROGRAM, _LEAKS, _SHUT_SUPPLY, _DRAIN, _BACKFLOW, _BACKFLOW_WINTER,
        _CONTROLLER_OFF,
    ),
    VisitKind.REPAIR: (
        _SITE, _RULES, *_REPAIRING, _TICKETS, _AGREED, _BACKFLOW, _TRY_REPAIR, _LEAKS,
        _STANDING_WATER, _RAIN_SENSOR, _PHOTOS, _CONTROLLER_ON,
    ),
    VisitKind.RETEST: (
        _SITE, _RULES, _TICKETS, _FOUND_PROGRAM, _EACH_ZONE, _SAME_PLACES, _CUPS, _LEAKS,
        _STANDING_WATER, _RAIN_SENSOR, _BACKFLOW, _CONTROLLER_ON,
    ),
    VisitKind.SERVICE_CALL: (
        _SITE, _RULES, *_REPAIRING, _COMPLAINT, _FOUND_PROGRAM, _EACH_ZONE, _LEAKS,
        _STANDING_WATER, _RAIN_SENSOR, _BACKFLOW, _AGREED, _PHOTOS, _CONTROLLER_ON,
    ),
}  # fmt: skip

LOCAL_CODES_BIND: Final = (
    "Local codes, the makers' limits and the licensed trade come before this list."
)


def checklist(kind: VisitKind) -> tuple[ChecklistItem, ...]:
    """Return the items of a visit, its cautions first, then the work in the order of the visit."""
    items = CHECKLISTS[VisitKind(kind)]
    return (*(i for i in items if i.is_caution), *(i for i in items if not i.is_caution))
