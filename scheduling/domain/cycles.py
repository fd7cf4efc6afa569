"""How long a zone runs at once: minutes on the controller's step, in cycles with a soak between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from properties.domain.errors import RefusedError
from scheduling.domain.intervals import Ceiling, lowest
from scheduling.domain.soil import max_cycle_min, soak_min
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts, accumulation_of, intake_of

_ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Cycles:
    """One watering as the controller runs it: equal cycles, a soak between two of them.

    `is_cut` says that the nearest step would have broken a limit, so the one below was taken.
    """

    cycles: int
    cycle_min: float
    soak_min: float
    is_cut: bool

    @property
    def minutes(self) -> float:
        """All cycles together [min]."""
        return self.cycles * self.cycle_min


def minutes_for(depth_mm: float, rate_mm_h: float) -> float:
    """Return how long a rate takes to put down a depth [min]."""
    return 60 * depth_mm / rate_mm_h


def depth_for(minutes: float, rate_mm_h: float) -> float:
    """Return the depth that a rate puts down in some minutes [mm]."""
    return minutes * rate_mm_h / 60


def cycle_ceiling(zone: ZoneFacts, rules: WateringLimits) -> Ceiling:
    """Return the longest cycle that surface and controller allow, on the controller's step [min].

    Raises
    ------
    RefusedError
        Code "cycle-under-step" when water runs off before one step of the controller is over.
    """
    surface = max_cycle_min(zone.rate_mm_h, intake_of(zone), accumulation_of(zone))
    binding = lowest(
        Ceiling(rules.longest_run_min, "longest-run"), Ceiling(float(surface), "soil-cycle")
    )
    steps = math.floor(binding.value / rules.minute_step + _ROUNDING)
    if steps < 1:
        raise RefusedError(
            "Water would run off, or the run end, before one step of the controller is over.",
            code="cycle-under-step", field="rate_mm_h",
            remedy="Fit nozzles of a lower rate, or a controller with a finer step.",
        )  # fmt: skip
    return Ceiling(steps * rules.minute_step, binding.code)


def split_minutes(
    minutes: float, most_min: float, longest_cycle_min: float, step_min: float
) -> tuple[int, float, bool]:
    """Divide minutes into the fewest equal cycles on the controller's step.

    Each cycle is rounded to the nearest step, at least one; where all cycles together would then
    exceed `most_min`, to the step below.

    Parameters
    ----------
    minutes : what the watering asks for [min], not above `most_min`.
    most_min : what roots, surface and rules allow in all [min].
    longest_cycle_min : a whole number of steps [min].
    step_min : the controller's step [min].

    Returns
    -------
    Number of cycles, minutes of each, and whether the step below had to be taken.

    Raises
    ------
    RefusedError
        Code "step-over-limit" when a single step puts down more than allowed.
    """
    most_steps = math.floor(most_min / step_min + _ROUNDING)
    if most_steps < 1:
        raise RefusedError(
            "One step of the controller puts down more than the zone may get at once.",
            code="step-over-limit", field="minute_step",
            remedy="Fit nozzles of a lower rate, or a controller with a finer step.",
        )  # fmt: skip
    cycles = min(max(1, math.ceil(minutes / longest_cycle_min - _ROUNDING)), most_steps)
    nearest = max(1, math.floor(minutes / cycles / step_min + 0.5))
    allowed = most_steps // cycles
    return cycles, min(nearest, allowed) * step_min, nearest > allowed


def cycles_for(
    minutes: float, most_min: float, longest_cycle_min: float, *, zone: ZoneFacts, step_min: float
) -> Cycles:
    """Return the cycles of one watering, with the soak that lets each drain before the next.

    The soak is rounded up to the controller's step; after the last cycle there is none.
    """
    count, cycle_min, is_cut = split_minutes(minutes, most_min, longest_cycle_min, step_min)
    if count == 1:
        return Cycles(1, cycle_min, 0.0, is_cut)
    return Cycles(count, cycle_min, soak_after_min(zone, cycle_min, step_min), is_cut)


def soak_after_min(zone: ZoneFacts, cycle_min: float, step_min: float) -> float:
    """Return how long a cycle drains before the next may follow, up to the controller's step [min].

    Parameters
    ----------
    zone : its rate and its soil.
    cycle_min, step_min : length of the cycle and the controller's step [min].
    """
    intake = intake_of(zone)
    left_mm = depth_for(cycle_min, max(zone.rate_mm_h - intake, 0.0))
    return math.ceil(float(soak_min(intake, left_mm)) / step_min - _ROUNDING) * step_min
