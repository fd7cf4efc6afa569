"""What a zone asks of a controller in one month: the numbers that programs are fitted to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class MonthNeed:
    """What one month of a zone asks of its controller; all depths but `net_mm` as they fall, gross.

    gross_mm_week : need of a week, lengthened for unevenness [mm]; 0 where nothing is watered.
    net_mm : net depth of one watering by the plan [mm].
    rate_mm_h : rate of the zone [mm/h].
    longest_cycle_min : what surface and controller let run at once, on the controller's step [min].
    soak_min : the pause that such a cycle wants before the next [min].
    day_limit_mm : what soil and rules take in one day [mm]; None is no limit.
    store_mm : what the roots take of one watering [mm].
    longest_gap_days : how long the roots last, within what zone and controller allow [d].
    """

    month: int
    gross_mm_week: float
    net_mm: float
    rate_mm_h: float
    longest_cycle_min: float
    soak_min: float
    day_limit_mm: float | None
    store_mm: float
    longest_gap_days: int
