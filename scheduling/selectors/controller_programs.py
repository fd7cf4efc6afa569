"""Stored controllers, their zones and their local rules as the fit of a year sees them."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from audits.models import FlowCheck
from properties.domain.errors import DomainError, RefusedError
from properties.models import Controller, Property, Zone
from scheduling.domain.controller_year import Spell
from scheduling.domain.month_needs import MonthNeed
from scheduling.domain.programs import ControllerAbility, ControllerTask, ZoneNeed
from scheduling.models import ControllerProgram, WateringPlan
from scheduling.selectors.program_rules import KindRules, MonthRules, kind_of
from scheduling.selectors.seasons import ZoneSeasonFacts, property_season

MONTHS: Final = range(1, 13)
LONGEST_SOAK_MIN: Final = 24 * 60
LEAST_PERCENT: Final = 10  # common practice: below it a controller shows zero


@dataclass(frozen=True)
class YearQuestion:
    """Controllers to be fitted together for the twelve months to come.

    `supply_l_min` is None where one controller has the supply for itself. `made_from` tells of each
    controller, by id, which zones were fitted by which plans, and why others are left out.
    """

    controllers: tuple[Controller, ...]
    spells: tuple[Spell, ...]
    supply_l_min: float | None
    made_from: Mapping[UUID, dict[str, Any]]


def year_question(controllers: Sequence[Controller], on: dt.date) -> YearQuestion:
    """Return what is asked for controllers of one property, from a day on.

    Raises
    ------
    RefusedError
        Where a controller has nothing to fit, or several share a supply of unknown flow.
    """
    supply = check_ready(controllers)
    property_ = controllers[0].property
    season = property_season(property_, on)
    own = {
        each.pk: [found for found in season.zones if found.zone.controller_id == each.pk]
        for each in controllers
    }
    for each in controllers:
        _refuse_unplanned(each, own[each.pk])
    flows = flows_l_min([zone.zone for found in own.values() for zone in found])
    if supply is not None:
        _refuse_flows(own, flows, supply)
    builder = _Builder(controllers, own, MonthRules(property_, on), flows)
    plans = newest_plans([zone.zone.pk for found in own.values() for zone in found])
    made_from = {pk: _made_from(found, plans) for pk, found in own.items()}
    return YearQuestion(tuple(controllers), tuple(builder.spells()), supply, made_from)


def check_ready(controllers: Sequence[Controller]) -> float | None:
    """Refuse what cannot be fitted, whatever the weather; return the supply that is shared [L/min].

    Raises
    ------
    RefusedError
        For a controller without a start, without zones, with retired zones only, or before any plan
        is stored; for several on a supply of unknown flow.
    """
    for controller in controllers:
        _check_controller(controller)
    return _supply(controllers[0].property) if len(controllers) > 1 else None


def _check_controller(controller: Controller) -> None:
    if not controller.program_count or not controller.starts_per_program:
        raise RefusedError(
            f"{controller} has no start that could be set.",
            code="no-start", field="starts_per_program",
            remedy="Give its programs, and how many starts each has.",
        )  # fmt: skip
    activity = set(controller.zones.values_list("is_active", flat=True))
    if not activity:
        raise RefusedError(
            f"{controller} has no zones.",
            code="no-zones", field="zones", remedy="Wire zones to it.",
        )  # fmt: skip
    if True not in activity:
        raise RefusedError(
            f"{controller} is retired: none of its zones is in use.",
            code="controller-retired", field="zones",
            remedy="Take a zone into use again, or wire others to it.",
        )  # fmt: skip
    if not WateringPlan.objects.filter(zone__controller=controller, zone__is_active=True).exists():
        raise RefusedError(
            f"No zone of {controller} has a plan yet.",
            code="no-plans-yet", field="controller",
            remedy="Have the plans of the property stored first.",
        )  # fmt: skip


def newest_fits(property_: Property) -> QuerySet[ControllerProgram]:
    """Return the newest set of a whole year of each controller that has one."""
    newest = (
        ControllerProgram.objects.filter(controller=OuterRef("controller"))
        .order_by("-number")
        .values("pk")[:1]
    )
    fits = ControllerProgram.objects.filter(controller__property=property_, pk=Subquery(newest))
    return fits.exclude(months=[])


def flows_l_min(zones: Sequence[Zone]) -> dict[UUID, float]:
    """Return the flow of each zone that is known [L/min]: metered, or else by its heads."""
    newest = (
        FlowCheck.objects.filter(zone=OuterRef("zone"), flow_l_min__gt=0)
        .order_by("-taken_at", "-id")
        .values("pk")[:1]
    )
    checks = FlowCheck.objects.filter(zone__in=[zone.pk for zone in zones], pk=Subquery(newest))
    metered = dict(checks.values_list("zone_id", "flow_l_min"))
    rated = {
        zone.pk: sum(group.count * group.rated_flow_l_min for group in zone.head_groups.all())
        for zone in zones
    }
    known = {pk: flow for pk, flow in rated.items() if flow > 0}
    return {**known, **{pk: flow for pk, flow in metered.items() if flow is not None}}


def newest_plans(zone_ids: Iterable[UUID | str]) -> dict[UUID, WateringPlan]:
    """Return the newest stored plan of each zone, without its months and inputs."""
    newest = WateringPlan.objects.filter(zone=OuterRef("zone")).order_by("-number").values("pk")[:1]
    plans = WateringPlan.objects.filter(zone__in=list(zone_ids), pk=Subquery(newest))
    return {plan.zone_id: plan for plan in plans.defer("months", "inputs")}


def _supply(property_: Property) -> float:
    if not property_.available_flow_l_min:
        raise RefusedError(
            "Several controllers share a supply whose flow is not known.",
            code="supply-unknown", field="available_flow_l_min",
            remedy="Measure the available flow of the property, or fit one controller by itself.",
        )  # fmt: skip
    return property_.available_flow_l_min


def _refuse_flows(
    own: Mapping[UUID, Sequence[ZoneSeasonFacts]], flows: Mapping[UUID, float], supply_l_min: float
) -> None:
    planned = [each.zone for zones in own.values() for each in zones if each.plan]
    unknown = [str(zone) for zone in planned if zone.pk not in flows]
    if unknown:
        raise RefusedError(
            f"On a shared supply each zone needs its flow; unknown: {', '.join(unknown)}.",
            code="flow-unknown", field="flow_l_min",
            remedy="Meter the zone, or enter its heads with their flow.",
        )  # fmt: skip
    thirsty = [str(zone) for zone in planned if flows[zone.pk] > supply_l_min]
    if thirsty:
        raise RefusedError(
            f"More than the supply gives is taken by: {', '.join(thirsty)}.",
            code="flow-over-supply", field="flow_l_min",
            remedy="Divide the zone, fit nozzles of a lower flow, or measure the supply again.",
        )  # fmt: skip


def _refuse_unplanned(controller: Controller, own: Sequence[ZoneSeasonFacts]) -> None:
    if not any(each.plan for each in own):
        why = " ".join(_reason(each.refusal) for each in own if each.refusal)
        raise RefusedError(
            f"No zone of {controller} can be planned now. {why}".strip(),
            code="no-zone-planned", field="controller",
            remedy="Give its zones a catch test or heads with their flow.",
        )  # fmt: skip


def _made_from(
    own: Sequence[ZoneSeasonFacts], plans: Mapping[UUID, WateringPlan]
) -> dict[str, Any]:
    planned = [each for each in own if each.plan]
    return {
        "plans": {str(each.zone.pk): _number(plans.get(each.zone.pk)) for each in planned},
        "estimated": [str(each.zone.pk) for each in planned if each.facts and each.facts.estimated],
        "left_out": {str(each.zone.pk): _reason(each.refusal) for each in own if each.refusal},
    }


def _reason(refusal: DomainError) -> str:
    return f"{refusal.detail} {refusal.remedy}"


def _number(plan: WateringPlan | None) -> int:
    return 0 if plan is None else plan.number


class _Builder:
    """Divides the year where the rules of any controller change, and asks each part's question."""

    def __init__(
        self,
        controllers: Sequence[Controller],
        own: Mapping[UUID, Sequence[ZoneSeasonFacts]],
        rules: MonthRules,
        flows: Mapping[UUID, float],
    ) -> None:
        self._controllers, self._rules, self._flows = controllers, rules, flows
        self._planned = {pk: [each for each in zones if each.plan] for pk, zones in own.items()}
        self._needs: dict[UUID, tuple[MonthNeed, ...]] = {
            each.zone.pk: each.plan.month_needs()
            for zones in self._planned.values() for each in zones if each.plan
        }  # fmt: skip

    def spells(self) -> list[Spell]:
        """Return the spells; months under the same rules are one, wherever they lie."""
        months: dict[tuple[KindRules, ...], list[int]] = {}
        for month in MONTHS:
            rules = tuple(
                self._rules.of([each.zone for each in self._planned[one.pk]], month)
                for one in self._controllers
            )
            months.setdefault(rules, []).append(month)
        return [self._spell(rules, found) for rules, found in months.items()]

    def _spell(self, rules: Sequence[KindRules], months: Sequence[int]) -> Spell:
        needs: dict[Hashable, list[float]] = {
            str(pk): [need.gross_mm_week if need.month in months else 0.0 for need in twelve]
            for pk, twelve in self._needs.items()
        }
        tasks = (
            ControllerTask(
                ability=_ability(controller),
                zones=tuple(self._zone(each.zone, months) for each in self._planned[controller.pk]),
                rules=of[0],
                drip_rules=of[1],
                name=str(controller.pk),
            )
            for controller, of in zip(self._controllers, rules, strict=True)
        )
        return Spell(months=tuple(months), tasks=tuple(tasks), needs_mm_week=needs)

    def _zone(self, zone: Zone, months: Sequence[int]) -> ZoneNeed:
        """The zone of its thirstiest month; its cycles suit every month in which it runs.

        How long the roots last follows in each month from their store and its need, so the longest
        gap is that of the month that allows most.
        """
        needs = [need for need in self._needs[zone.pk] if need.month in months]
        peak = max(needs, key=lambda need: need.gross_mm_week)
        wet = [need for need in needs if need.gross_mm_week > 0] or [peak]
        limits = [need.day_limit_mm for need in wet if need.day_limit_mm is not None]
        return ZoneNeed(
            zone_id=str(zone.pk),
            need_mm_week=peak.gross_mm_week,
            rate_mm_h=peak.rate_mm_h,
            kind=kind_of(zone),
            longest_cycle_min=min(need.longest_cycle_min for need in wet),
            soak_min=min(max(need.soak_min for need in wet), LONGEST_SOAK_MIN),
            day_limit_mm=min(limits, default=math.inf),
            store_mm=peak.store_mm,
            longest_gap_days=max(need.longest_gap_days for need in wet),
            area_m2=zone.area_m2,
            flow_l_min=self._flows.get(zone.pk),
        )


def _ability(controller: Controller) -> ControllerAbility:
    return ControllerAbility(
        programs=controller.program_count,
        starts_per_program=controller.starts_per_program,
        minute_step=controller.minute_step,
        longest_run_min=controller.longest_run_min,
        can_weekdays=controller.can_weekdays,
        interval_days=controller.interval_days,
        can_odd_even=controller.can_odd_even,
        percent_range=(LEAST_PERCENT, controller.most_percent),
        percent_step=controller.percent_step,
    )
