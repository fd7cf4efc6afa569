"""A stored controller, its zones and its local rules as the fit of programs sees them."""

from __future__ import annotations

import calendar
import datetime as dt
import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final

from properties.domain.errors import RefusedError
from properties.domain.site import HeadKind
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_spans import AllowedSpan, allowed_span
from properties.models import Controller, Zone
from properties.selectors.watering_rules import place_of, rules_of, use_of
from scheduling.domain.programs import (
    ControllerAbility,
    ControllerTask,
    HourWindow,
    ProgramRules,
    ZoneKind,
    ZoneNeed,
)
from scheduling.selectors.seasons import ZoneSeasonFacts, property_season

MIN_PER_DAY: Final = 24 * 60
POINT_KINDS: Final = frozenset({HeadKind.DRIP, HeadKind.BUBBLER})


def controller_task(controller: Controller, on: dt.date) -> tuple[ControllerTask, dict[str, str]]:
    """Return the task of a controller in the month of a day, and why zones are left out.

    Raises
    ------
    RefusedError
        Where no zone of the controller has a plan.
    """
    season = property_season(controller.property, on)
    own = [each for each in season.zones if each.zone.controller_id == controller.pk]
    planned = [each for each in own if each.plan is not None]
    if not planned:
        raise RefusedError(
            f"No zone of {controller} has a plan.",
            code="no-zone-planned", field="controller",
            remedy="Wire zones to it, and give them a catch test or heads with their flow.",
        )  # fmt: skip
    rules = _rules(controller, planned, on)
    task = ControllerTask(
        ability=ControllerAbility(
            programs=controller.program_count,
            starts_per_program=controller.starts_per_program,
            minute_step=controller.minute_step,
            longest_run_min=controller.longest_run_min,
        ),
        zones=tuple(_need(each, on.month) for each in planned),
        rules=rules[ZoneKind.SPRINKLER],
        drip_rules=rules[ZoneKind.DRIP],
        name=controller.name,
    )
    return task, {str(each.zone.pk): str(each.refusal) for each in own if each.refusal}


def _need(found: ZoneSeasonFacts, month: int) -> ZoneNeed:
    assert found.plan is not None
    need = found.plan.month_needs()[month - 1]
    return ZoneNeed(
        zone_id=str(found.zone.pk),
        need_mm_week=need.gross_mm_week,
        rate_mm_h=need.rate_mm_h,
        kind=_kind(found.zone),
        longest_cycle_min=need.longest_cycle_min,
        soak_min=need.soak_min,
        day_limit_mm=math.inf if need.day_limit_mm is None else need.day_limit_mm,
        store_mm=need.store_mm,
        longest_gap_days=need.longest_gap_days,
        area_m2=found.zone.area_m2,
    )


def _kind(zone: Zone) -> ZoneKind:
    return ZoneKind.DRIP if zone.head_kind in POINT_KINDS else ZoneKind.SPRINKLER


def _rules(
    controller: Controller, planned: Iterable[ZoneSeasonFacts], on: dt.date
) -> dict[ZoneKind, ProgramRules]:
    """Return what the district allows each kind of zone over the month: the strictest of them."""
    district, place = rules_of(controller.property), place_of(controller.property)
    first = on.replace(day=1)
    last = on.replace(day=calendar.monthrange(on.year, on.month)[1])
    found = {ZoneKind.SPRINKLER: ProgramRules(), ZoneKind.DRIP: ProgramRules()}
    if district is None:
        return found
    for use, kind in {(use_of(each.zone), _kind(each.zone)) for each in planned}:
        span = allowed_span(district, Case(place=place, use=use), first, last)
        found[kind] = _stricter(found[kind], span)
    return found


def _stricter(rules: ProgramRules, span: AllowedSpan) -> ProgramRules:
    minutes = {
        minute % MIN_PER_DAY
        for each in span.hours
        for minute in range(each.start_min, each.end_min)
    }
    return ProgramRules(
        allowed_weekdays=rules.allowed_weekdays & span.weekdays,
        windows=tuple(_windows(sorted(rules.minutes() & minutes))),
        daily_minutes_cap=_least(rules.daily_minutes_cap, span.minutes_cap),
        daily_depth_cap_mm=_least(rules.daily_depth_cap_mm, span.depth_cap_mm),
    )


def _windows(minutes: Sequence[int]) -> Iterator[HourWindow]:
    """Yield the stretches of minutes that follow one another."""
    for _, run in groupby(enumerate(minutes), key=lambda each: each[1] - each[0]):
        stretch = [minute for _, minute in run]
        yield HourWindow(stretch[0], stretch[-1] + 1)


def _least(one: float | None, other: float | None) -> float | None:
    known = [cap for cap in (one, other) if cap is not None]
    return min(known) if known else None
