"""One watering on the surface: its cycles, and what runs off of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from scheduling.domain.bounds import within
from scheduling.domain.soil import FASTEST_MM_H, max_cycle_min
from scheduling.domain.water_columns import Array

_ROUNDING: Final = 1e-9
_DAY_MIN: Final = 1440.0


@dataclass(frozen=True)
class CycleLosses:
    """What runs off of a watering, as gross depths [mm]."""

    runoff_mm: Array
    soak_runoff_mm: Array


@dataclass(frozen=True)
class Runs:
    """Equal cycles on the controller's step, and what they put down."""

    cycles: Array
    cycle_min: Array
    gross_mm: Array


def runs_for(
    gross_mm: ArrayLike, rate_mm_h: ArrayLike, longest_cycle_min: ArrayLike, *, step_min: float
) -> Runs:
    """Return the fewest equal cycles for a depth, each rounded to the nearest step.

    Parameters
    ----------
    gross_mm : depth of the watering [mm]; 0 gives no cycle.
    rate_mm_h : application rate [mm/h], 0.1 to 1000.
    longest_cycle_min : longest cycle that the surface takes [min]; it may be infinite. It is
        rounded down to a step; where not even one step fits, one step is run.
    step_min : the controller's step [min], 0.1 to 60.
    """
    gross = within(gross_mm, 0.0, 1000.0, field="gross_mm")
    rate = within(rate_mm_h, 0.1, FASTEST_MM_H, field="rate_mm_h")
    longest = within(longest_cycle_min, 0.0, np.inf, field="longest_cycle_min")
    step = within(step_min, 0.1, 60.0, field="step_min")
    longest = np.maximum(np.floor(longest / step + _ROUNDING), 1.0) * step
    minutes = 60 * gross / rate
    cycles = np.where(gross > 0.0, np.maximum(np.ceil(minutes / longest - _ROUNDING), 1.0), 0.0)
    each = np.floor(minutes / np.maximum(cycles, 1.0) / step + 0.5) * step
    return Runs(cycles, each, cycles * each * rate / 60)


def cycle_losses(
    cycles: ArrayLike,
    cycle_min: ArrayLike,
    soak_min: ArrayLike,
    *,
    rate_mm_h: ArrayLike,
    intake_mm_h: ArrayLike,
    accumulation_mm: ArrayLike,
) -> CycleLosses:
    """Return what runs off of equal cycles with equal soaks between them.

    A cycle on dry ground that lasts beyond the longest allowed one loses the rest of it: runoff.
    What later cycles lose beyond that, because the soak did not empty the surface, is soak runoff.

    Parameters
    ----------
    cycles : number of cycles, 0 or more.
    cycle_min, soak_min : of each cycle and each soak [min], 0 to 1440.
    rate_mm_h, intake_mm_h : application rate and basic intake [mm/h].
    accumulation_mm : what may stand on the surface [mm].

    References
    ----------
    The two losses are those of the trade-association test protocol for weather-based controllers
    (8th draft), from memory; t = 60 ASA / (PR - IR) is there too.
    """
    count = within(cycles, 0.0, 1000.0, field="cycles")
    run = within(cycle_min, 0.0, _DAY_MIN, field="cycle_min")
    soak = within(soak_min, 0.0, _DAY_MIN, field="soak_min")
    rate = within(rate_mm_h, 0.0, FASTEST_MM_H, field="rate_mm_h")
    intake = within(intake_mm_h, 0.0, FASTEST_MM_H, field="intake_mm_h")
    may_stand = within(accumulation_mm, 0.0, 500.0, field="accumulation_mm")
    gained = np.maximum(rate - intake, 0.0) * run / 60
    beyond = np.maximum(run - max_cycle_min(rate, intake, may_stand), 0.0)
    runoff = count * beyond * np.maximum(rate - intake, 0.0) / 60
    total = np.zeros(np.broadcast(count, gained, soak, may_stand).shape)
    standing = np.zeros_like(total)
    for cycle in range(int(count.max(initial=0.0))):
        now = standing + gained
        total += np.where(cycle < count, np.maximum(now - may_stand, 0.0), 0.0)
        standing = np.maximum(np.minimum(now, may_stand) - intake * soak / 60, 0.0)
    runoff = np.minimum(runoff, total)
    return CycleLosses(runoff, total - runoff)
