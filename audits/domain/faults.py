"""Faults that a technician finds, in the trade's words, and what mends each.

The list and the repairs are common practice of sprinkler maintenance.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class FaultKind(StrEnum):
    LEANING = "leaning"
    TURNED = "turned"
    WRONG_ARC = "wrong_arc"
    WRONG_THROW = "wrong_throw"
    SUNKEN = "sunken"
    TILTED_BY_RISER = "tilted_by_riser"
    CLOGGED_NOZZLE = "clogged_nozzle"
    WORN_NOZZLE = "worn_nozzle"
    WRONG_NOZZLE = "wrong_nozzle"
    BROKEN = "broken"
    BLOCKED_BY_PLANTS = "blocked_by_plants"
    LEAKING_SEAL = "leaking_seal"
    DRAINS_FROM_LOWEST_HEAD = "drains_from_lowest_head"
    MISTING = "misting"
    WEAK_PRESSURE = "weak_pressure"
    SPRAYS_PAVING = "sprays_paving"
    DOES_NOT_REACH_NEXT_HEAD = "does_not_reach_next_head"
    MIXED_HEADS = "mixed_heads"
    VALVE_DOES_NOT_OPEN = "valve_does_not_open"
    VALVE_DOES_NOT_CLOSE = "valve_does_not_close"
    WIRING = "wiring"
    NO_WORKING_RAIN_SENSOR = "no_working_rain_sensor"
    DRY_SPOT = "dry_spot"
    WET_SPOT = "wet_spot"
    RUNOFF = "runoff"


class Severity(StrEnum):
    MINOR = "minor"
    MAJOR = "major"
    URGENT = "urgent"


@dataclass(frozen=True)
class FaultFacts:
    """How a fault is called on paper and what mends it; `on_head`: it concerns single heads."""

    label: str
    repair: str
    on_head: bool = True


FAULTS: Final[dict[FaultKind, FaultFacts]] = {
    FaultKind.LEANING: FaultFacts("Leaning head", "Set the head upright and firm the soil."),
    FaultKind.TURNED: FaultFacts("Turned head", "Turn the head back to its area."),
    FaultKind.WRONG_ARC: FaultFacts("Wrong arc", "Set or change the arc to fit the edge."),
    FaultKind.WRONG_THROW: FaultFacts("Wrong throw", "Fit a nozzle whose throw meets the spacing."),
    FaultKind.SUNKEN: FaultFacts("Sunken head", "Raise the head to grade."),
    FaultKind.TILTED_BY_RISER: FaultFacts(
        "Head tilted by its flexible riser", "Re-seat the riser and set the head upright."
    ),
    FaultKind.CLOGGED_NOZZLE: FaultFacts("Clogged nozzle", "Clean the filter and the nozzle."),
    FaultKind.WORN_NOZZLE: FaultFacts("Worn nozzle", "Replace the nozzle by one of equal rate."),
    FaultKind.WRONG_NOZZLE: FaultFacts(
        "Wrong nozzle for its spot", "Fit the nozzle whose rate matches its neighbours and arc."
    ),
    FaultKind.BROKEN: FaultFacts("Broken head", "Replace the head."),
    FaultKind.BLOCKED_BY_PLANTS: FaultFacts(
        "Blocked by plants", "Cut back the plants or raise or move the head."
    ),
    FaultKind.LEAKING_SEAL: FaultFacts("Leaking seal", "Clean or replace the wiper seal."),
    FaultKind.DRAINS_FROM_LOWEST_HEAD: FaultFacts(
        "Drains from the lowest head", "Fit a head with a check valve."
    ),
    FaultKind.MISTING: FaultFacts(
        "Misting from high pressure", "Reduce the pressure at the valve or at the heads."
    ),
    FaultKind.WEAK_PRESSURE: FaultFacts(
        "Weak from low pressure", "Find the loss; split the zone if it has too many heads."
    ),
    FaultKind.SPRAYS_PAVING: FaultFacts("Sprays paving", "Turn, trim or move the head."),
    FaultKind.DOES_NOT_REACH_NEXT_HEAD: FaultFacts(
        "Does not reach the next head", "Restore head-to-head throw: nozzle, pressure or spacing."
    ),
    FaultKind.MIXED_HEADS: FaultFacts(
        "Mixed head types", "Bring the zone to heads of one matched rate.", on_head=False
    ),
    FaultKind.VALVE_DOES_NOT_OPEN: FaultFacts(
        "Valve does not open", "Check solenoid and diaphragm.", on_head=False
    ),
    FaultKind.VALVE_DOES_NOT_CLOSE: FaultFacts(
        "Valve does not close", "Clean or replace the diaphragm.", on_head=False
    ),
    FaultKind.WIRING: FaultFacts("Wiring", "Find and mend the field wire.", on_head=False),
    FaultKind.NO_WORKING_RAIN_SENSOR: FaultFacts(
        "No working rain sensor", "Fit or replace the rain sensor.", on_head=False
    ),
    FaultKind.DRY_SPOT: FaultFacts(
        "Dry spot", "Find the head that should reach it.", on_head=False
    ),
    FaultKind.WET_SPOT: FaultFacts(
        "Wet spot", "Look for a leak, a low head or too long a run.", on_head=False
    ),
    FaultKind.RUNOFF: FaultFacts(
        "Runoff", "Shorten the cycles and let the water soak in between.", on_head=False
    ),
}
