"""One watering of a zone: how far from the next, how deep, how long, and what decided it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scheduling.domain.cycles import Cycles, cycle_ceiling, cycles_for, depth_for, minutes_for
from scheduling.domain.intervals import WEEK, Ceiling, Rhythm, choose_rhythm, lowest
from scheduling.domain.reasons import (
    Reason,
    cycles_reason,
    days_reason,
    fact,
    minutes_reason,
    shortfall_reason,
)
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts, watering_day_limit_of

_ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Demand:
    """What the plants ask of a watering: need, readily available water, run-time multiplier."""

    need_mm_day: float
    raw_mm: float
    multiplier: float


@dataclass(frozen=True)
class DayLimit:
    """What a limit lets one watering day give, net [mm]; of all limits one `decides`."""

    code: str
    net_mm: float
    decides: bool


@dataclass(frozen=True, kw_only=True)
class Watering:
    """One watering: exact depth and minutes, and the cycles that the controller is set to.

    `capacity` is the net depth that one watering day can give at most [mm]; `times` is the number
    of waterings in a watering day. `limits` are all that say how much a day can give.
    """

    demand: Demand
    capacity: Ceiling
    limits: tuple[DayLimit, ...]
    rhythm: Rhythm
    times: int
    net_mm: float
    minutes_low: float
    minutes_high: float
    cycles: Cycles
    longest_cycle: Ceiling
    gross_mm: float

    @property
    def per_week(self) -> float:
        """Waterings in a mean week."""
        return self.times * self.rhythm.days_a_week

    @property
    def minutes_code(self) -> str:
        """What decides the minutes: the gaps, or the limit that they come up to."""
        is_full = self.times * self.net_mm > self.capacity.value - _ROUNDING
        return self.capacity.code if is_full else "gaps"

    @property
    def limit_shortfall_mm_day(self) -> float:
        """What the exact plan leaves unmet [mm d-1]."""
        return _positive(self.demand.need_mm_day - self.net_mm * self.per_week / WEEK)

    @property
    def step_shortfall_mm_day(self) -> float:
        """What is lost where the step had to be rounded down to keep within a limit [mm d-1].

        The nearest step is no loss: over a season it errs as often upwards.
        """
        lost_mm = self.net_mm - self.gross_mm / self.demand.multiplier
        return _positive(lost_mm * self.per_week / WEEK) if self.cycles.is_cut else 0.0


def plan_watering(zone: ZoneFacts, rules: WateringLimits, demand: Demand) -> Watering:
    """Return the fewest waterings that meet the need, or come nearest to it.

    What one day can give is the least of roots, soil, rules and starts; the days between follow
    from it; the depth is what the plants use over the real gaps, so never more than it.
    """
    longest_cycle = cycle_ceiling(zone, rules)
    day_gross = day_gross_limit(zone, rules)
    times = _waterings_per_day(zone, rules, demand, day_gross.value)
    starts_min = rules.max_cycles // times * times * longest_cycle.value
    starts_gross_mm = depth_for(starts_min, zone.rate_mm_h)
    ceilings = (
        Ceiling(times * demand.raw_mm, "store"),
        *(_net(ceiling, demand) for ceiling in _day_gross_ceilings(zone, rules)),
        Ceiling(starts_gross_mm / demand.multiplier, "starts"),
    )
    capacity = lowest(*ceilings)
    rhythm = _rhythm(zone, rules, demand, capacity)
    net_mm = rhythm.net_mm(demand.need_mm_day, capacity, times * demand.raw_mm) / times
    low, most = (minutes_for(mm, zone.rate_mm_h) for mm in (net_mm, capacity.value / times))
    cycles = cycles_for(
        low * demand.multiplier,
        most * demand.multiplier,
        longest_cycle.value,
        zone=zone,
        step_min=rules.minute_step,
    )
    return Watering(
        demand=demand,
        capacity=capacity,
        limits=tuple(
            DayLimit(each.code, each.value, each is capacity)
            for each in ceilings
            if math.isfinite(each.value)
        ),
        rhythm=rhythm,
        times=times,
        net_mm=net_mm,
        minutes_low=low,
        minutes_high=low * demand.multiplier,
        cycles=cycles,
        longest_cycle=longest_cycle,
        gross_mm=depth_for(cycles.minutes, zone.rate_mm_h),
    )


def watering_reasons(watering: Watering, zone: ZoneFacts) -> tuple[Reason, ...]:
    """Return what decided the days, the cycles and what is left unmet, in that order."""
    rhythm, demand = watering.rhythm, watering.demand
    reasons = [days_reason(rhythm.code), minutes_reason(watering.minutes_code)]
    if watering.times > 1:
        reasons.append(fact("several-a-day"))
    if zone.max_days_between is not None and rhythm.longest_gap_days > zone.max_days_between:
        reasons.append(fact("gap-over-longest"))
    if watering.cycles.cycles > 1:
        reasons.append(cycles_reason(watering.longest_cycle.code))
    if watering.minutes_high < watering.cycles.minutes / 2:
        reasons.append(fact("least-step"))
    if watering.limit_shortfall_mm_day:
        never_enough = watering.capacity.value < demand.need_mm_day
        cause = watering.capacity.code if never_enough else rhythm.code
        reasons.append(shortfall_reason(cause))
    if watering.step_shortfall_mm_day:
        reasons.append(shortfall_reason("step"))
    return tuple(reasons)


def _waterings_per_day(
    zone: ZoneFacts, rules: WateringLimits, demand: Demand, day_gross_mm: float
) -> int:
    """More than one only where the roots hold less than a day of need."""
    if zone.min_days_between > 1:
        return 1
    wanted_mm = min(demand.need_mm_day, day_gross_mm / demand.multiplier)
    times = math.ceil(wanted_mm / demand.raw_mm - _ROUNDING)
    return min(max(1, times), rules.max_cycles)


def _day_gross_ceilings(zone: ZoneFacts, rules: WateringLimits) -> tuple[Ceiling, ...]:
    """What soil and rules let be put down in one day, all waterings and cycles together [mm]."""
    minutes_cap, depth_cap = rules.daily_minutes_cap, rules.daily_depth_cap_mm
    rule_minutes = math.inf if minutes_cap is None else minutes_cap
    return (
        Ceiling(watering_day_limit_of(zone), "soil-day"),
        Ceiling(math.inf if depth_cap is None else depth_cap, "rule-depth"),
        Ceiling(depth_for(rule_minutes, zone.rate_mm_h), "rule-minutes"),
    )


def _net(ceiling: Ceiling, demand: Demand) -> Ceiling:
    return Ceiling(ceiling.value / demand.multiplier, ceiling.code)


def day_gross_limit(zone: ZoneFacts, rules: WateringLimits) -> Ceiling:
    """Return what soil and rules let one day put down, gross [mm]; infinite without limit."""
    return lowest(*_day_gross_ceilings(zone, rules))


def longest_days_between(zone: ZoneFacts, rules: WateringLimits) -> int:
    """Return the longest time between waterings that zone and controller allow [d]."""
    return min(zone.max_days_between or rules.longest_interval_days, rules.longest_interval_days)


def _rhythm(zone: ZoneFacts, rules: WateringLimits, demand: Demand, capacity: Ceiling) -> Rhythm:
    return choose_rhythm(
        demand.need_mm_day,
        capacity,
        shortest_days=zone.min_days_between,
        longest_days=longest_days_between(zone, rules),
        allowed_weekdays=rules.allowed_weekdays,
    )


def _positive(depth_mm: float) -> float:
    return depth_mm if depth_mm > _ROUNDING else 0.0
