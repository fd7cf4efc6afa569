"""The running plan: what a zone gets on each of the next days, as its roots stand today."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from scheduling.domain.cycles import depth_for
from scheduling.domain.margin import Margin, run_time_margin
from scheduling.domain.plant_lives import LifeStage, life_reasons
from scheduling.domain.reasons import Reason
from scheduling.domain.refill import USED_UP, RefillRule
from scheduling.domain.run_times import rate_reasons
from scheduling.domain.running_days import AheadDays, Morning, PastDays, mornings
from scheduling.domain.running_start import StartState, start_state
from scheduling.domain.running_watering import Put, pass_day, put_on
from scheduling.domain.running_words import day_reason, deficit_reason
from scheduling.domain.treatment_days import NOT_BY_RULES, TreatmentDays
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts

_ROUNDING_MM: Final = 1e-9


@dataclass(frozen=True, kw_only=True)
class RunningDay:
    """One day of the plan.

    `minutes`, `cycles`, `cycle_min` and `soak_min` are of one watering, of which the day has
    `waterings`; depths are of the whole day. What is stored counts from wilting: at `limit_mm` the
    readily available water is used up. `is_forecast` says that ET0 is forecast, else it is usual;
    `forecast_rain_mm` never enters the store and is None where nobody forecasts.
    """

    date: dt.date
    reasons: tuple[Reason, ...]
    waterings: int
    minutes: float
    cycles: int
    cycle_min: float
    soak_min: float
    net_mm: float
    gross_mm: float
    litres: float | None
    et0_mm: float
    need_mm: float
    is_forecast: bool
    forecast_rain_mm: float | None
    stored_before_mm: float
    stored_after_mm: float
    deficit_mm: float
    limit_mm: float
    capacity_mm: float
    stage: LifeStage
    labels: tuple[str, ...]

    @property
    def is_watered(self) -> bool:
        return self.waterings > 0


@dataclass(frozen=True, kw_only=True)
class RunningPlan:
    """The days ahead, what they start from, and how sure that is.

    `reasons` tell what rate and multiplier stand on, on which all minutes do.
    """

    start: StartState
    days: tuple[RunningDay, ...]
    margin: Margin
    is_estimated: bool
    reasons: tuple[Reason, ...]

    @property
    def deficit_mm(self) -> float:
        return sum(day.deficit_mm for day in self.days)

    @property
    def net_mm(self) -> float:
        return sum(day.net_mm for day in self.days)

    @property
    def gross_mm(self) -> float:
        return sum(day.gross_mm for day in self.days)

    @property
    def litres(self) -> float | None:
        known = [day.litres for day in self.days if day.litres is not None]
        return sum(known) if len(known) == len(self.days) else None

    @property
    def forecast_days(self) -> int:
        """How many days stand on a forecast; the others on the usual year."""
        return sum(day.is_forecast for day in self.days)


def running_plan(
    zone: ZoneFacts,
    limits: WateringLimits,
    past: PastDays,
    ahead: AheadDays,
    *,
    treatments: Sequence[TreatmentDays] = (),
    rule: RefillRule = USED_UP,
) -> RunningPlan:
    """Return what a zone gets on each of the days ahead.

    1. The account up to yesterday, full on its first day; a soaking rain makes that matter nothing.
    2. A day on which rules, weather or a treatment forbid water stays dry, and says why.
    3. A treatment is watered in on the first day of its window that may run.
    4. Else the zone is due when the roots, until it may water again, would fall below what the rule
       keeps, or when its longest time has passed; and it is filled up to what the rule leaves
       free, but at least with what is used until then.
    5. A likely forecast rain postpones a watering as long as the readily available water lasts, and
       lessens it to what lacks where it does not. It never fills the store: once it has fallen,
       the account of the next day knows it.
    6. Minutes and cycles on the controller's step; what that gives goes into the account.

    Parameters
    ----------
    zone, limits, past, ahead, treatments, rule : see there.

    Raises
    ------
    RefusedError
        Code "cycle-under-step" where one step of the controller is already too long.

    References
    ----------
    The rule of refilling: `refill`; the account: `water_balance`.
    """
    margin = run_time_margin(zone, limits)
    start = start_state(zone, past, net_fraction=1.0 / margin.multiplier)
    stored_mm = start.stored_mm
    since_days = start.days_since_watering or zone.min_days_between
    days = []
    for morning in mornings(zone, limits, ahead, treatments, rule):
        stored_mm = min(stored_mm, morning.raw_mm + morning.reserve_mm)
        put, code = _decide(morning, stored_mm, since_days, limits.on(morning.date), margin, rule)
        after_mm, deficit_mm = pass_day(morning, stored_mm, put, margin)
        days.append(_day(morning, ahead, put, code, (stored_mm, after_mm, deficit_mm)))
        stored_mm = after_mm
        since_days = 1 if put else since_days + 1
    return RunningPlan(
        start=start,
        days=tuple(days),
        margin=margin,
        is_estimated=zone.estimated,
        reasons=(*margin.reasons, *rate_reasons(zone)),
    )


def _decide(
    morning: Morning,
    stored_mm: float,
    since_days: int,
    limits: WateringLimits,
    margin: Margin,
    rule: RefillRule,
) -> tuple[Put | None, str]:
    """Return what the zone gets today, or nothing, and the code of the reason."""
    readily_mm = stored_mm - morning.reserve_mm
    if morning.block is not None and morning.block != NOT_BY_RULES:
        return None, morning.block
    if morning.block is None and morning.treated.water_in_mm is not None:
        net_mm = morning.treated.water_in_mm / margin.multiplier
        relief = morning.treated.relief
        limits = limits.capped_by(relief) if relief else limits
        put = put_on(morning, net_mm, net_mm, limits, margin)
        return put, ("water-in-relieved" if relief else "water-in") if put else "step"
    step_mm = depth_for(limits.minute_step, morning.zone.rate_mm_h) / margin.multiplier
    code, wanted_mm = _wanted(morning, readily_mm, since_days, rule, step_mm=step_mm)
    if wanted_mm <= _ROUNDING_MM:
        return None, code
    if morning.block is not None:
        return None, morning.block
    put = put_on(
        morning, wanted_mm, morning.raw_mm + morning.reserve_mm - stored_mm, limits, margin
    )
    return put, code if put else "step"


def _wanted(
    morning: Morning, readily_mm: float, since_days: int, rule: RefillRule, *, step_mm: float
) -> tuple[str, float]:
    """Return why it is watered or not, and how much would fill it, net [mm].

    What a step of the controller lost at the last watering does not bring the next a day forward.
    """
    if since_days < morning.zone.min_days_between:
        return "too-soon", 0.0
    raw, until_next = np.array([morning.raw_mm]), morning.until_next_mm
    full_mm = max(
        float(rule.full_mm(raw)[0]), min(until_next, max(morning.raw_mm, morning.need_mm))
    )
    lack_mm = full_mm - readily_mm
    has_room = lack_mm >= rule.least_net_mm or readily_mm < morning.need_mm
    is_dry = readily_mm - until_next < float(rule.kept_mm(raw)[0]) - step_mm - _ROUNDING_MM
    is_late = since_days >= (morning.zone.max_days_between or math.inf)
    if not (has_room and (is_dry or is_late)):
        return "enough", 0.0
    return _after_rain(morning, readily_mm, lack_mm, "due" if is_dry else "late")


def _after_rain(
    morning: Morning, readily_mm: float, lack_mm: float, code: str
) -> tuple[str, float]:
    """Return what is left to give where a rain comes: nothing, or what lacks until then."""
    if morning.rain_need_mm is None:
        return code, lack_mm
    waits_mm = max(morning.until_next_mm, morning.rain_need_mm)
    if readily_mm >= waits_mm:
        return "rain-ahead", 0.0
    if not morning.rain_is_first:
        return code, lack_mm
    until_mm = min(morning.until_next_mm, max(morning.raw_mm, morning.need_mm))
    if until_mm <= readily_mm:
        return "rain-ahead", 0.0
    return "lack", min(until_mm - readily_mm, lack_mm)


def _day(
    morning: Morning,
    ahead: AheadDays,
    put: Put | None,
    code: str,
    account: tuple[float, float, float],
) -> RunningDay:
    before_mm, after_mm, deficit_mm = account
    rain_mm = float(ahead.rain_mm[morning.place])
    times = put.waterings if put else 0
    gross_mm = put.gross_mm * times if put else 0.0
    area_m2 = morning.zone.area_m2
    reasons = [day_reason(code), *(put.reasons if put else ()), *life_reasons(morning.stage)]
    if deficit_mm > _ROUNDING_MM:
        reasons.append(deficit_reason(code, put.limit if put else None))
    return RunningDay(
        date=morning.date,
        reasons=tuple(reasons),
        waterings=times,
        minutes=put.cycles.minutes if put else 0.0,
        cycles=put.cycles.cycles if put else 0,
        cycle_min=put.cycles.cycle_min if put else 0.0,
        soak_min=put.cycles.soak_min if put else 0.0,
        net_mm=put.net_mm * times if put else 0.0,
        gross_mm=gross_mm,
        litres=None if area_m2 is None else gross_mm * area_m2,
        et0_mm=morning.et0_mm,
        need_mm=morning.need_mm,
        is_forecast=bool(ahead.is_forecast[morning.place]),
        forecast_rain_mm=None if math.isnan(rain_mm) else rain_mm,
        stored_before_mm=before_mm,
        stored_after_mm=after_mm,
        deficit_mm=deficit_mm,
        limit_mm=morning.reserve_mm,
        capacity_mm=morning.raw_mm + morning.reserve_mm,
        stage=morning.stage,
        labels=morning.treated.labels,
    )
