"""What one day of a running plan puts down: minutes and cycles on the controller's step."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduling.domain.cycles import Cycles, cycle_ceiling, cycles_for, depth_for, minutes_for
from scheduling.domain.intervals import Ceiling, lowest
from scheduling.domain.margin import Margin
from scheduling.domain.plant_lives import SURVIVAL_MM, LifeStage
from scheduling.domain.reasons import Reason, cycles_reason, fact
from scheduling.domain.running_days import Morning
from scheduling.domain.running_words import day_minutes_reason
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.watering import day_gross_limit
from scheduling.domain.zone_facts import WateringLimits

_ROUNDING = 1e-9


@dataclass(frozen=True)
class Put:
    """The waterings of a day, all alike: cycles of one, and its depths [mm].

    `limit` is the code of what lets it be no more; "wanted" where nothing had to.
    """

    waterings: int
    cycles: Cycles
    net_mm: float
    gross_mm: float
    limit: str
    reasons: tuple[Reason, ...]


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
    longest = cycle_ceiling(zone, limits)
    day_gross = day_gross_limit(zone, limits)
    day_net_mm = day_gross.value / margin.multiplier
    step_mm = depth_for(limits.minute_step, zone.rate_mm_h) / margin.multiplier
    times = _times(morning, min(net_mm, day_net_mm), step_mm, limits)
    if times > 1:
        most_mm = math.inf  # each of them finds the room that the one before has left
    starts_min = limits.max_cycles // times * longest.value
    most = lowest(
        Ceiling(most_mm, "treatment" if morning.treated.water_in_mm is not None else "room"),
        Ceiling(morning.raw_mm, "store"),
        Ceiling(day_net_mm / times, day_gross.code),
        Ceiling(depth_for(starts_min, zone.rate_mm_h) / margin.multiplier, "starts"),
        Ceiling(SURVIVAL_MM if morning.stage is LifeStage.DORMANT else math.inf, "survival"),
    )
    most_min = minutes_for(most.value * margin.multiplier, zone.rate_mm_h)
    if most_min < limits.minute_step - _ROUNDING:
        return None
    wanted_mm = min(net_mm / times, most.value)
    cycles = cycles_for(
        minutes_for(wanted_mm * margin.multiplier, zone.rate_mm_h),
        most_min,
        longest.value,
        zone=zone,
        step_min=limits.minute_step,
    )
    gross_mm = depth_for(cycles.minutes, zone.rate_mm_h)
    limit = most.code if net_mm / times > most.value - _ROUNDING else "wanted"
    reasons = [day_minutes_reason(limit)]
    reasons += [fact("several-a-day")] * (times > 1)
    reasons += [cycles_reason(longest.code)] * (cycles.cycles > 1)
    return Put(times, cycles, gross_mm / margin.multiplier, gross_mm, limit, tuple(reasons))


def _times(morning: Morning, net_mm: float, step_mm: float, limits: WateringLimits) -> int:
    """Several waterings only where the roots hold less than a day of need, none below a step."""
    is_shallow = morning.need_mm > morning.raw_mm and morning.zone.min_days_between == 1
    if not is_shallow or morning.treated.water_in_mm is not None:
        return 1
    net_mm = min(net_mm, morning.need_mm)
    times = math.ceil(net_mm / morning.raw_mm - _ROUNDING)
    most = min(limits.max_cycles, math.floor(net_mm / step_mm + _ROUNDING))
    return max(1, min(times, most))


def pass_day(
    morning: Morning, stored_mm: float, put: Put | None, margin: Margin
) -> tuple[float, float]:
    """Return the store at the end of the day and the need that was not met [mm].

    Where the roots hold less than a day of need, each watering has its part of the day, the first
    of them as soon as the roots have room for it.
    """
    deficit_mm = 0.0
    for need_mm, gross_mm in parts_of_day(morning, stored_mm, put):
        account = simulate(
            [[need_mm]],
            0.0,
            Waterings(gross_mm=gross_mm, net_fraction=1.0 / margin.multiplier),
            RootZone(storage_mm=morning.raw_mm, reserve_mm=morning.reserve_mm, start_mm=stored_mm),
        )
        stored_mm = float(account.stored_mm[-1, 0])
        deficit_mm += float(account.deficit_mm[-1, 0])
    return stored_mm, deficit_mm


def parts_of_day(morning: Morning, stored_mm: float, put: Put | None) -> list[tuple[float, float]]:
    """Return the need of each part of a day, and what is put down at its beginning [mm]."""
    if put is None:
        return [(morning.need_mm, 0.0)]
    if put.waterings == 1:
        return [(morning.need_mm, put.gross_mm)]
    too_full_mm = stored_mm + put.net_mm - (morning.raw_mm + morning.reserve_mm)
    waits_mm = min(max(too_full_mm, 0.0), morning.need_mm)
    part_mm = (morning.need_mm - waits_mm) / put.waterings
    return [(waits_mm, 0.0), *[(part_mm, put.gross_mm)] * put.waterings]
