"""What every audit summary says beside its numbers: what to beware of, and how far to trust it.

The wording is ours and defers to local codes, to licensed trades and to product labels.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Caution:
    """One caution: what it is about, in a word or two, and the sentences."""

    topic: str
    text: str


_CAUTIONS: Final = (
    Caution(
        "Watering rules",
        "Local watering rules bind over every number here. A test on a day on which watering "
        "is not allowed may need an exemption.",
    ),
    Caution(
        "Treatments",
        "What the label of a treatment says about watering in or holding off binds over "
        "this table.",
    ),
    Caution(
        "Digging",
        "Have buried lines marked first: in the United States call 811, elsewhere the local "
        "service. Marks cover public lines only and are approximate, so expose by hand.",
    ),
    Caution(
        "Licence",
        "Some places license any repair for others, a single head included. Opening the main "
        "line belongs to the licensed trade.",
    ),
    Caution(
        "Electricity",
        "Field valves run on 24 V, but the controller and any pump start are on mains: switch "
        "off first, and leave mains wiring to an electrician.",
    ),
    Caution(
        "Pressure",
        "Shut the supply off and let the pressure out before unscrewing anything.",
    ),
    Caution(
        "Backflow",
        "The assembly that keeps irrigation water out of drinking water is tested and kept up "
        "by whom the local code licenses.",
    ),
    Caution(
        "Standing water",
        "Puddles breed mosquitoes and make walks slippery: shorten the runs, lengthen the "
        "soak, and have leaks mended.",
    ),
    Caution(
        "Spray",
        "No water onto paving, walls, roads or neighbours; turn the head or change its nozzle.",
    ),
    Caution(
        "Heat",
        "Work outdoors in the cool hours, with shade and drinking water at hand.",
    ),
)
_RECLAIMED_WATER: Final = Caution(
    "Reclaimed water",
    "Not for drinking, washing or play, and never joined to a drinking-water pipe, not even for a "
    "test. Signs, purple marking and watering hours are as the local code asks.",
)


def standard_cautions(*, reclaimed_water: bool = False) -> tuple[Caution, ...]:
    """Return the cautions that belong to an audit, the ones that bind by law first.

    Parameters
    ----------
    reclaimed_water : the system runs on treated waste water.

    References
    ----------
    Common practice; the order of law, label and licence before any number of ours.
    """
    law, *rest = _CAUTIONS
    return (law, _RECLAIMED_WATER, *rest) if reclaimed_water else _CAUTIONS


def standard_method_notes() -> tuple[str, ...]:
    """Return how the numbers came about and where they end."""
    return (
        "Rates come from cups set out in the running zone. The range below a rate holds the true "
        "one in nine of ten such tests.",
        "Evenness is the mean catch of the driest quarter of the cups over the mean of all; low "
        "half is the same of the drier half, CU is Christiansen's coefficient of uniformity. Where "
        "cups were pooled, poured together, evenness is unknown, and the run times assume a "
        "published figure for that kind of head.",
        "A figure with ≈ is estimated from the heads, without a valid test.",
        "Need is the evaporation of the local climate times factors for plant and place. Rain is "
        "not taken off; the rule for rain does that.",
        "Remarks on disease and insects are rules of thumb of the trade, not a diagnosis.",
    )
