"""The content of the audit summary, out of a visit and the season of its property."""

from __future__ import annotations

import zoneinfo
from collections.abc import Iterable, Mapping
from datetime import date
from uuid import UUID

from audits.domain.faults import FAULTS, FaultKind
from audits.domain.faults import Severity as FaultSeverity
from audits.domain.published_uniformity import quality
from audits.models import CatchTest, Finding, Visit
from audits.selectors.catch_tests import advice_of
from audits.selectors.zones import ruling_tests, running_minutes
from properties.domain.errors import DomainError
from properties.domain.site import HeadKind, PlantType, SoilTexture
from properties.models import Property, WaterSource, Zone
from properties.selectors.company import customer_units, the_company
from reports.domain.audit_summary import (
    AuditSummary,
    Cup,
    Mend,
    MonthSetting,
    Severity,
    WeatherNote,
    ZoneSeason,
    ZoneSummary,
)
from reports.domain.audit_wording import headline, zone_meaning
from reports.domain.cautions import standard_cautions, standard_method_notes
from reports.domain.rain_rule import ZoneRainSkip, rain_rule
from scheduling.domain.run_times import SeasonPlan, ZonePlan
from scheduling.selectors.seasons import PropertySeason, ZoneSeasonFacts, property_season

DAYS_A_WEEK = 7
_SEVERITIES = {
    FaultSeverity.URGENT: Severity.AT_ONCE,
    FaultSeverity.MAJOR: Severity.THIS_SEASON,
    FaultSeverity.MINOR: Severity.WHEN_CONVENIENT,
}


def audit_summary_of(visit: Visit) -> AuditSummary:
    """Return what the summary of a visit says; without weather it says what was measured."""
    property_ = visit.property
    company = the_company()
    system = customer_units(property_.customer, company)
    season, problem = _season_of(visit)
    month = _hottest_month(season)
    found = _zones(property_, season)
    numbers = _numbers(each.zone for each in found)
    zones = tuple(_zone(each, month, numbers) for each in found)
    seasons = _seasons(season, numbers)
    mends = tuple(_mend(finding, numbers) for finding in _findings(visit))
    return AuditSummary(
        company_name=company.name,
        company_contact=company.contact_line,
        customer_name=property_.customer.name,
        property_name=property_.name,
        address_lines=property_.address_lines(),
        visit_date=_visit_date(visit),
        technician_name=visit.technician.name,
        system=system,
        headline=headline(zones, mends, month=month, season=seasons),
        hottest_month=month,
        zones=zones,
        mends=mends,
        season=seasons,
        cautions=standard_cautions(reclaimed_water=property_.water_source == WaterSource.RECLAIMED),
        method_notes=(*standard_method_notes(), *_unplanned(season, problem, numbers)),
        weather=_weather_note(season),
        rain_rule=rain_rule(_rain_skips(season, month, numbers), month=month, system=system),
    )


def _season_of(visit: Visit) -> tuple[PropertySeason | None, DomainError | None]:
    """Return the season as of the day of the visit, by its plants and its local rules."""
    try:
        return property_season(visit.property, _visit_date(visit)), None
    except DomainError as refusal:
        return None, refusal


def _zones(property_: Property, season: PropertySeason | None) -> tuple[ZoneSeasonFacts, ...]:
    if season is not None:
        return season.zones
    rows = property_.zones.filter(is_active=True).select_related("controller")
    zones = list(rows.order_by("number", "id"))
    tests, minutes = ruling_tests([zone.pk for zone in zones]), running_minutes(zones)
    return tuple(
        ZoneSeasonFacts(zone, tests.get(zone.pk), None, None, None, minutes.get(zone.pk))
        for zone in zones
    )


def _numbers(zones: Iterable[Zone]) -> dict[UUID, int]:
    """Number zones as their controllers do, or count them through where two share a number."""
    own = {zone.pk: zone.number for zone in zones}
    if len(set(own.values())) == len(own):
        return own
    return {pk: place for place, pk in enumerate(own, start=1)}


def _name(zone: Zone, number: int) -> str:
    """Add where the zone hangs if the document counts it under another number."""
    if number == zone.number:
        return zone.name
    return f"{zone.name} ({zone.controller or 'by hand'}, {zone.number})"


def _zone(each: ZoneSeasonFacts, month: int, numbers: Mapping[UUID, int]) -> ZoneSummary:
    zone, test = each.zone, each.test
    plan = each.plan.months[month - 1] if each.plan else None
    needed = plan.need_mm_day * DAYS_A_WEEK if plan else None
    margin = plan.multiplier if plan else 1.0
    return ZoneSummary(
        number=numbers[zone.pk],
        name=_name(zone, numbers[zone.pk]),
        head_kind=HeadKind(zone.head_kind),
        plant=PlantType(zone.plant_type),
        soil=SoilTexture(zone.soil_texture),
        area_m2=zone.area_m2,
        rate_mm_h=each.rate_mm_h,
        rate_interval_mm_h=(test.rate_low_mm_h, test.rate_high_mm_h) if test else None,
        du_lq=test.du_lq if test else None,
        du_lh=test.du_lh if test else None,
        cu=test.cu if test else None,
        cups=test.cups if test else 0,
        pooled=bool(test and test.is_pooled),
        estimated=test is None and each.facts is not None,
        rating=_rating(test, zone),
        cups_detail=_cups(test),
        found_weekly_mm=each.found_weekly_mm,
        needed_weekly_mm=needed,
        margin=margin,
        meaning=zone_meaning(
            month=month,
            found_weekly_mm=each.found_weekly_mm,
            needed_weekly_mm=None if needed is None else needed * margin,
            du_lq=test.du_lq if test else None,
            pooled=bool(test and test.is_pooled),
            estimated=test is None and each.facts is not None,
        ),
        advice=tuple(advice.sentence for advice in advice_of(test)) if test else (),
    )


def _rating(test: CatchTest | None, zone: Zone) -> str:
    if test is None or test.du_lq is None:
        return ""
    rating = quality(test.du_lq, HeadKind(zone.head_kind))
    return rating.value if rating else ""


def _cups(test: CatchTest | None) -> tuple[Cup, ...]:
    if test is None or test.is_pooled:
        return ()
    return tuple(
        Cup(depth_mm=cup.depth_mm, x_m=cup.x_m, y_m=cup.y_m) for cup in test.readings.all()
    )


def _seasons(season: PropertySeason | None, numbers: Mapping[UUID, int]) -> tuple[ZoneSeason, ...]:
    zones = season.zones if season else ()
    return tuple(_zone_season(numbers[each.zone.pk], each.plan) for each in zones if each.plan)


def _zone_season(number: int, plan: SeasonPlan) -> ZoneSeason:
    return ZoneSeason(zone=number, months=tuple(_month(month) for month in plan.months))


def _month(plan: ZonePlan) -> MonthSetting:
    return MonthSetting(
        month=plan.month,
        days_between=plan.days_between,
        minutes=plan.minutes,
        cycles=max(1, plan.cycles),
        cycle_min=plan.cycle_min,
        soak_min=plan.soak_min,
        weekly_mm=plan.weekly_gross_mm,
        needed_mm=plan.need_mm_day * DAYS_A_WEEK,
        estimated=plan.estimated,
    )


def _findings(visit: Visit) -> list[Finding]:
    return list(visit.findings.select_related("zone").order_by("zone__number", "id"))


def _mend(finding: Finding, numbers: Mapping[UUID, int]) -> Mend:
    facts, zone = FAULTS[FaultKind(finding.fault)], finding.zone
    heads = f" ({finding.count} heads)" if facts.on_head and finding.count > 1 else ""
    return Mend(
        zone=numbers.get(zone.pk, zone.number) if zone else None,
        what=f"{facts.label}{heads}. {facts.repair}",
        severity=_SEVERITIES[FaultSeverity(finding.severity)],
        evidence="; ".join(words for words in (finding.where, finding.note) if words),
        done_on_the_spot=finding.mended_on_the_spot,
    )


def _rain_skips(
    season: PropertySeason | None, month: int, numbers: Mapping[UUID, int]
) -> list[ZoneRainSkip]:
    planned = [(each.zone, each.plan) for each in season.zones if each.plan] if season else []
    return [
        ZoneRainSkip(numbers[zone.pk], skip.rain_mm, skip.days)
        for zone, plan in planned
        if (skip := plan.months[month - 1].rain_skip)
    ]


def _hottest_month(season: PropertySeason | None) -> int:
    if season is None:
        return 7
    et0 = season.climate.et0_mm_day
    return et0.index(max(et0)) + 1


def _weather_note(season: PropertySeason | None) -> WeatherNote | None:
    if season is None:
        return None
    climate = season.climate
    return WeatherNote(
        station=season.station.name,
        first_year=climate.first_date.year,
        last_year=climate.last_date.year,
    )


def _unplanned(
    season: PropertySeason | None, problem: DomainError | None, numbers: Mapping[UUID, int]
) -> tuple[str, ...]:
    """Say in the document why something could not be planned."""
    if problem is not None:
        return (f"No season could be planned. {problem.detail}",)
    zones = season.zones if season else ()
    return tuple(
        f"Zone {numbers[each.zone.pk]} could not be planned. {each.refusal.detail}"
        for each in zones
        if each.refusal is not None
    )


def _visit_date(visit: Visit) -> date:
    zone = zoneinfo.ZoneInfo(visit.property.time_zone)
    return visit.started_at.astimezone(zone).date() if visit.started_at else visit.planned_date
