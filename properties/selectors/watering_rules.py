"""Which watering rules bind a zone: its district's rules, its address and what waters it."""

from __future__ import annotations

import zoneinfo
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Prefetch

from properties.domain import watering_rules as domain
from properties.domain.watering_rules import DistrictRules, Purpose
from properties.domain.watering_rules_audience import (
    Method,
    Place,
    PropertyClass,
    WaterKind,
    ZoneUse,
)
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_spans import AllowedSpan, allowed_span
from properties.models import Property, StagePeriod, WateringDistrict, WateringRule, Zone


@dataclass(frozen=True, kw_only=True)
class TimesAsked:
    """What is asked: the dates, the purpose, and a method where it is not the zone's own heads."""

    first_date: date
    last_date: date
    purpose: Purpose = Purpose.WATERING
    method: Method | None = None
    applied_at: datetime | None = None


@dataclass(frozen=True)
class ZoneTimes:
    """A zone and what it is allowed."""

    zone: Zone
    span: AllowedSpan


def rules_of_districts(district_ids: Iterable[UUID]) -> dict[UUID, DistrictRules]:
    """Return the rules and the drought stages of each district, in three queries for them all."""
    periods = StagePeriod.objects.filter(is_void=False).select_related("stage")
    districts = WateringDistrict.objects.filter(pk__in=set(district_ids)).prefetch_related(
        Prefetch("rules", WateringRule.objects.order_by("id")),
        Prefetch("stages__periods", periods.order_by("first_date", "id")),
    )
    return {district.pk: _as_district(district) for district in districts}


def rules_of(property_: Property) -> DistrictRules | None:
    """Return the rules of a property's district, or None where none is known."""
    district_id = property_.watering_district_id
    return None if district_id is None else rules_of_districts([district_id])[district_id]


def place_of(property_: Property) -> Place:
    """Return what rules ask of an address."""
    return Place(
        house_number=property_.number(),
        time_zone=zoneinfo.ZoneInfo(property_.time_zone),
        property_class=PropertyClass(property_.property_class),
        water=WaterKind(property_.water_source),
    )


def use_of(zone: Zone, method: Method | None = None) -> ZoneUse:
    """Return what rules ask of a zone, watered by its own heads or by another method."""
    return ZoneUse(method=method or Method(zone.head_kind), planting_date=zone.planting_date)


def zone_times(zone: Zone, asked: TimesAsked) -> ZoneTimes:
    """Return what the rules allow a zone."""
    return _times(zone.property, [zone], asked)[0]


def property_times(property_: Property, asked: TimesAsked) -> list[ZoneTimes]:
    """Return what the rules allow each active zone of a property."""
    zones = Zone.objects.filter(property=property_, is_active=True).order_by("number", "id")
    return _times(property_, list(zones), asked)


def _times(property_: Property, zones: list[Zone], asked: TimesAsked) -> list[ZoneTimes]:
    district, place = rules_of(property_), place_of(property_)
    spans: dict[ZoneUse, AllowedSpan] = {}  # many zones are of one use
    for use in {use_of(zone, asked.method) for zone in zones}:
        case = Case(place=place, use=use, purpose=asked.purpose, applied_at=asked.applied_at)
        spans[use] = allowed_span(district, case, asked.first_date, asked.last_date)
    return [ZoneTimes(zone, spans[use_of(zone, asked.method)]) for zone in zones]


def _as_district(district: WateringDistrict) -> DistrictRules:
    return DistrictRules(
        district.name,
        tuple(rule.as_rule() for rule in district.rules.all()),
        tuple(_as_period(row) for stage in district.stages.all() for row in stage.periods.all()),
    )


def _as_period(row: StagePeriod) -> domain.StagePeriod:
    return domain.StagePeriod(
        str(row.stage_id), row.first_date, row.last_date, row.stage.replaces_usual, row.stage.name
    )
