"""What a zone needs by the usual year, lent as a value to the questions of the audits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from audits.domain.diagnosis import Cause, CauseKind
from audits.domain.repair_worth import RepairWorth, metered_litres, repair_worth
from audits.domain.water_record import MonthlyNeed
from audits.selectors.diagnosis import ZoneDiagnosis, zone_diagnosis
from audits.selectors.found_water import FoundWater, found_water
from audits.selectors.zones import ruling_tests
from properties.domain.errors import DomainError
from properties.models import Zone
from scheduling.domain.climate import Climate
from scheduling.domain.intervals import WEEK
from scheduling.domain.margin import run_time_margin
from scheduling.domain.needs import weekly_need_mm
from scheduling.domain.zone_facts import ZoneFacts
from scheduling.models import WeatherStation
from scheduling.selectors.measured_zones import mended_on
from scheduling.selectors.seasons import ZoneSeasonFacts, zone_season
from scheduling.selectors.weather import climate_of, station_of
from scheduling.selectors.zone_facts import (
    limits_of,
    plant_factors_of,
    site_factor_of,
    zone_facts,
)

# The program is what these causes change: its worth is counted on the water as found.
PROGRAM_CAUSES: Final = frozenset({CauseKind.OVERWATERING, CauseKind.UNDERWATERING})
MIN_PER_H: Final = 60.0
WEEKS_PER_YEAR: Final = 365.0 / 7.0  # as the year of the found water is counted


@dataclass(frozen=True)
class DiagnosisWithNeed:
    """The causes, each with what its repair is worth; `refusal` says why there is no season."""

    diagnosis: ZoneDiagnosis
    worths: tuple[tuple[Cause, RepairWorth], ...]
    refusal: DomainError | None


@dataclass(frozen=True)
class _YearOfWater:
    """What falls on the lawn in a year, and how long the zone runs for it."""

    lawn_litres: float | None
    minutes: float | None


def monthly_need_of(zone: Zone) -> MonthlyNeed:
    """Return the weekly needs of a zone by the usual year of its station, or refuse.

    They are those of its plan, with the run-time multiplier by which that lengthens the minutes.
    """
    station, climate, season, _ = _season(zone)
    return _need(zone, station, climate, season)


def found_water_with_need(zone: Zone, *, on: date | None = None) -> FoundWater:
    """Return the program as found, or as it ran on a day, against the need of each month."""
    return found_water(zone, monthly_need_of(zone), on=on)


def diagnosis_with_need(zone: Zone) -> DiagnosisWithNeed:
    """Return what ails a zone, the program included, and what each repair is worth."""
    station, climate, season, refusal = _season(zone)
    need = _need(zone, station, climate, season)
    diagnosis = zone_diagnosis(zone, need)
    planned, found = _planned_year(season), _found_year(found_water(zone, need))
    worths = tuple(
        (cause, _worth(cause, diagnosis, found if cause.kind in PROGRAM_CAUSES else planned))
        for cause in diagnosis.causes
    )
    return DiagnosisWithNeed(diagnosis, worths, refusal)


def _season(
    zone: Zone,
) -> tuple[WeatherStation, Climate, ZoneSeasonFacts | None, DomainError | None]:
    """Return the season of a zone; one without a plan keeps its weather and says why."""
    try:
        return *zone_season(zone), None
    except DomainError as refusal:
        station = station_of(zone.property)
        return station, climate_of(station), None, refusal


def _facts(zone: Zone, station: WeatherStation) -> ZoneFacts | None:
    """Return the facts of a zone; None where they do not suffice for a plan."""
    tests = ruling_tests([zone.pk])
    mended = mended_on([zone], tests).get(zone.pk)
    try:
        return zone_facts(zone, tests.get(zone.pk), latitude_deg=station.latitude, mended_on=mended)
    except DomainError:
        return None


def _need(
    zone: Zone, station: WeatherStation, climate: Climate, season: ZoneSeasonFacts | None
) -> MonthlyNeed:
    facts = season.facts if season else _facts(zone, station)
    limits = limits_of(zone.controller)
    return MonthlyNeed(
        weekly_mm=_weekly_mm(zone, station, climate, season),
        source=(
            f"{station.name}, usual year of {climate.first_date.year} to "
            f"{climate.last_date.year} ({climate.years_used} years)"
        ),
        multiplier=run_time_margin(facts, limits).multiplier if facts else None,
    )


def _weekly_mm(
    zone: Zone, station: WeatherStation, climate: Climate, season: ZoneSeasonFacts | None
) -> tuple[float, ...]:
    """Return the need of the plan, which knows of rest and overseeding, or that of the plants."""
    if season is not None and season.plan is not None:
        return tuple(WEEK * month.need_mm_day for month in season.plan.months)
    return weekly_need_mm(
        climate,
        plant_factors_of(zone, station.latitude),
        quality_factor=zone.quality_factor,
        site_factor=site_factor_of(zone),
    )


def _planned_year(season: ZoneSeasonFacts | None) -> _YearOfWater:
    if season is None or season.plan is None or not season.rate_mm_h:
        return _YearOfWater(None, None)
    minutes = season.plan.gross_mm / season.rate_mm_h * MIN_PER_H
    return _YearOfWater(season.plan.litres, minutes)


def _found_year(water: FoundWater) -> _YearOfWater:
    minutes = None if water.weekly_min is None else water.weekly_min * WEEKS_PER_YEAR
    return _YearOfWater(water.against_need.found_l_year, minutes)


def _worth(cause: Cause, diagnosis: ZoneDiagnosis, year: _YearOfWater) -> RepairWorth:
    zone, evidence = diagnosis.zone, diagnosis.evidence
    price = zone.property.water_price_per_m3
    return repair_worth(
        cause.kind,
        evidence,
        season_litres=metered_litres(evidence, minutes=year.minutes, lawn_litres=year.lawn_litres),
        season_minutes=year.minutes,
        price_per_m3=None if price is None else float(price),
        multiplier_cap=limits_of(zone.controller).max_multiplier,
    )
