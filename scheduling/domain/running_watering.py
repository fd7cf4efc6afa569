"""What one day of a running plan puts down: minutes and cycles on the controller's step."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduling.domain.cycles import Cycles, cycle_ceiling, cycles_for, depth_for, minutes_for
from scheduling.domain.margin import Margin
from scheduling.domain.plant_lives import SURVIVAL_MM, LifeStage
from scheduling.domain.running_days import Morning
from scheduling.domain.watering import day_gross_limit_mm
from scheduling.domain.zone_facts import WateringLimits

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Put:
    """The waterings of a day, all alike: cycles of one, and its depths [mm]."""

    waterings: int
    cycles: Cycles
    net_mm: float
    gross_mm: float


def put_on(
    morning: Morning, net_mm: float, most_mm: float, limits: WateringLimits, margin: Margin
) -> Put | None:
    """Return what comes nearest to a net depth within all limits; None where a step is too much.

    Parameters
    ----------
    morning : what is known of the day.
    net_mm : what is wanted [mm].
    most_mm : what the roots have room for, or a treatment allows, net [mm].
    limits, margin : see there.
    """
    zone = morning.zone
    longest = cycle_ceiling(zone, limits).value
    times = _times(morning, net_mm, limits)
    if times > 1:
        most_mm = math.inf  # each of them finds the room that the one before has left
    starts_min = limits.max_cycles // times * longest
    most_net_mm = min(
        most_mm,
        morning.raw_mm,
        day_gross_limit_mm(zone, limits) / margin.multiplier / times,
        depth_for(starts_min, zone.rate_mm_h) / margin.multiplier,
        SURVIVAL_MM if morning.stage is LifeStage.DORMANT else math.inf,
    )
    most_min = minutes_for(most_net_mm * margin.multiplier, zone.rate_mm_h)
    if most_min < limits.minute_step - _ROUNDING:
        return None
    wanted_mm = min(net_mm / times, most_net_mm)
    cycles = cycles_for(
        minutes_for(wanted_mm * margin.multiplier, zone.rate_mm_h),
        most_min,
        longest,
        zone=zone,
        step_min=limits.minute_step,
    )
    gross_mm = depth_for(cycles.minutes, zone.rate_mm_h)
    return Put(times, cycles, gross_mm / margin.multiplier, gross_mm)


def _times(morning: Morning, net_mm: float, limits: WateringLimits) -> int:
    """Several waterings only where the roots hold less than a day of need."""
    is_shallow = morning.need_mm > morning.raw_mm and morning.zone.min_days_between == 1
    if not is_shallow or morning.treated.water_in_mm is not None:
        return 1
    times = math.ceil(min(net_mm, morning.need_mm) / morning.raw_mm - _ROUNDING)
    return min(max(1, times), limits.max_cycles)
