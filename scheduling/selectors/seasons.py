"""The season of a property: what each zone should get, month by month, against what it gets.

The API and the documents read their numbers here, so that they cannot differ.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from uuid import UUID

from audits.models import CatchTest
from audits.selectors.zones import ruling_tests, running_minutes
from properties.domain.errors import DomainError
from properties.models import Property, Zone
from scheduling.domain.climate import Climate
from scheduling.domain.run_times import SeasonPlan, season
from scheduling.domain.zone_facts import WateringLimits, ZoneFacts
from scheduling.models import WeatherStation
from scheduling.selectors.measured_zones import mended_on
from scheduling.selectors.property_weather import WeatherGaps, gaps_of_last_year
from scheduling.selectors.weather import climate_of, station_of, stations_near
from scheduling.selectors.zone_facts import zone_facts
from scheduling.selectors.zone_limits import PropertyLimits

LITRES_PER_M3 = 1000


@dataclass(frozen=True)
class ZoneSeasonFacts:
    """One zone: its plan, or the refusal that says why there is none; and what runs now.

    `limits` are those of controller and rules that the months of the plan keep to.
    """

    zone: Zone
    test: CatchTest | None
    facts: ZoneFacts | None
    plan: SeasonPlan | None
    refusal: DomainError | None
    found_weekly_min: float | None
    limits: tuple[WateringLimits, ...] = ()

    @property
    def rate_mm_h(self) -> float | None:
        """The measured rate, or else the one estimated from the heads; None when unknown."""
        known = self.test or self.facts
        return known.rate_mm_h if known else None

    @property
    def found_weekly_mm(self) -> float | None:
        """Depth of a mean week under the program that runs now [mm]; None when unknown."""
        if self.found_weekly_min is None or self.rate_mm_h is None:
            return None
        return self.found_weekly_min / 60.0 * self.rate_mm_h


@dataclass(frozen=True)
class PropertySeason:
    """All active zones of a property under the usual year of its station.

    `gaps` tells of the newest year of that station; None when it has no whole day.
    """

    property_: Property
    station: WeatherStation
    climate: Climate
    zones: tuple[ZoneSeasonFacts, ...]
    gaps: WeatherGaps | None = None

    @property
    def litres(self) -> float | None:
        """Water of a year before any rain [L], of the zones that have a plan and an area."""
        litres = [each.plan.litres for each in self.zones if each.plan]
        known = [amount for amount in litres if amount is not None]
        return sum(known) if known else None

    @property
    def cost(self) -> Decimal | None:
        """What that water costs at the property's price."""
        price = self.property_.water_price_per_m3
        if price is None or self.litres is None:
            return None
        return (Decimal(self.litres) / LITRES_PER_M3 * price).quantize(Decimal("0.01"))


def property_season(property_: Property, on: date | None = None) -> PropertySeason:
    """Return the season of a property; a zone that cannot be planned says why in its place.

    `on` is the day from which is planned: by it a new planting has its age in each coming month.
    """
    near = stations_near(property_)
    station = near[0].station
    climate = climate_of(station)
    zones = (
        property_.zones.filter(is_active=True)
        .select_related("controller")
        .prefetch_related("head_groups", "bucket_tests", "emitter_checks")
        .order_by("number", "id")
    )
    seasons = _zone_seasons(list(zones), station, climate, on)
    gaps = gaps_of_last_year(property_, near)
    return PropertySeason(property_, station, climate, seasons, gaps)


def zone_season(
    zone: Zone, on: date | None = None
) -> tuple[WeatherStation, Climate, ZoneSeasonFacts]:
    """Return the season of one zone as of a day, or refuse with the reason why there is none."""
    station = station_of(zone.property)
    climate = climate_of(station)
    (facts,) = _zone_seasons([zone], station, climate, on)
    if facts.refusal is not None:
        raise facts.refusal
    return station, climate, facts


@dataclass(frozen=True)
class _Scene:
    """What all zones of a property share."""

    station: WeatherStation
    climate: Climate
    on: date | None
    limits: PropertyLimits
    mended: Mapping[UUID, date]


def _zone_seasons(
    zones: Sequence[Zone], station: WeatherStation, climate: Climate, on: date | None
) -> tuple[ZoneSeasonFacts, ...]:
    if not zones:
        return ()
    tests: dict[UUID, CatchTest] = ruling_tests([zone.pk for zone in zones])
    minutes = running_minutes(zones)
    limits = PropertyLimits(zones[0].property)
    scene = _Scene(station, climate, on, limits, mended_on(zones, tests))
    return tuple(
        _zone_season(
            ZoneSeasonFacts(zone, tests.get(zone.pk), None, None, None, minutes.get(zone.pk)),
            scene,
        )
        for zone in zones
    )


def _zone_season(found: ZoneSeasonFacts, scene: _Scene) -> ZoneSeasonFacts:
    facts, zone = None, found.zone
    try:
        facts = zone_facts(
            zone,
            found.test,
            latitude_deg=scene.station.latitude,
            mended_on=scene.mended.get(zone.pk),
        )
        limits = scene.limits.by_month(zone, scene.on)
        plan = season(facts, scene.climate, limits, on=scene.on)
    except DomainError as refusal:
        return replace(found, facts=facts, refusal=refusal)
    return replace(found, facts=facts, plan=plan, limits=limits)
