"""The zones of a property as a replay finds them, and what their controllers are set to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

from django.db.models import OuterRef, Subquery

from audits.domain.repair_worth import uniformity_after
from audits.models import CatchTest, ProgramSetting
from audits.selectors.diagnosis import zone_diagnosis
from audits.selectors.program_settings import with_programs
from audits.selectors.zones import ruling_tests
from properties.domain.errors import DomainError
from properties.models import Property, Zone
from properties.models.places import RainSensor
from scheduling.domain.dated_rules import DayRules
from scheduling.domain.fitted_programs import FittedYear, fitted_year
from scheduling.domain.replay_schedules import RainSkip, ReplayZone
from scheduling.selectors.controller_programs import newest_fits
from scheduling.selectors.measured_zones import mended_on
from scheduling.selectors.zone_facts import limits_of, zone_facts

# Common practice: a quarter of an inch holds the waterings of the next day back.
USUAL_SENSOR: Final = RainSkip(rain_mm=6.35, days=1)


@dataclass(frozen=True)
class FoundZone:
    """A zone as it stands: what is known of it, what its controller is set to, or why not.

    `fitted` is the newest fit of its controller.
    """

    zone: Zone
    ready: ReplayZone | None
    refusal: DomainError | None
    setting: ProgramSetting | None
    fitted: FittedYear | None

    @property
    def has_sensor(self) -> bool:
        """Whether a rain sensor is known to work; what it is set to nobody knows."""
        controller = self.zone.controller
        return controller is not None and controller.rain_sensor == RainSensor.WORKING

    @property
    def sensor(self) -> RainSkip | None:
        """What a sensor that works is taken to be."""
        return USUAL_SENSOR if self.has_sensor else None

    def bound_by(self, rules: Mapping[dt.date, DayRules]) -> FoundZone:
        """Return the zone with the rules of dates."""
        if self.ready is None:
            return self
        limits = replace(self.ready.limits, by_date=rules)
        return replace(self, ready=replace(self.ready, limits=limits))


def found_zones(
    property_: Property,
    latitude_deg: float,
    *,
    before: dt.date | None = None,
    with_repairs: bool = False,
) -> list[FoundZone]:
    """Return the active zones of a property, with the setting that ran last (before a day).

    The newest fits of their controllers are there too, whatever the day. With repairs the
    uniformity to expect of each zone once it is mended is found out as well.
    """
    zones = list(
        property_.zones.filter(is_active=True)
        .select_related("controller", "property")
        .prefetch_related("head_groups", "bucket_tests", "emitter_checks")
        .order_by("number", "id")
    )
    tests = ruling_tests([zone.pk for zone in zones])
    mended = mended_on(zones, tests)
    settings = _settings_of({zone.controller_id for zone in zones if zone.controller_id}, before)
    fits = {fit.controller_id: fitted_year(fit.months) for fit in newest_fits(property_)}
    found = []
    for zone in zones:
        ready, refusal = None, None
        try:
            ready = _ready(zone, tests.get(zone.pk), latitude_deg, mended.get(zone.pk))
        except DomainError as error:
            refusal = error
        if ready and with_repairs:
            ready = replace(ready, expected_du_lq=expected_uniformity(zone))
        wired_to = zone.controller_id
        setting, fitted = (settings.get(wired_to), fits.get(wired_to)) if wired_to else (None, None)
        found.append(FoundZone(zone, ready, refusal, setting, fitted))
    return found


def expected_uniformity(zone: Zone) -> float | None:
    """Return the best uniformity that the repair of one likely cause lets expect, if any does."""
    try:
        diagnosis = zone_diagnosis(zone)
    except DomainError:
        return None
    after = [uniformity_after(cause.kind, diagnosis.evidence) for cause in diagnosis.causes]
    return max((each for each in after if each is not None), default=None)


def _ready(
    zone: Zone, test: CatchTest | None, latitude_deg: float, mended: dt.date | None
) -> ReplayZone:
    return ReplayZone(
        zone_id=zone.pk,
        facts=zone_facts(zone, test, latitude_deg=latitude_deg, mended_on=mended),
        limits=limits_of(zone.controller),
        rate_interval_mm_h=(test.rate_low_mm_h, test.rate_high_mm_h) if test else None,
    )


def _settings_of(controller_ids: set[UUID], before: dt.date | None) -> dict[UUID, ProgramSetting]:
    """Return for each controller its newest setting, or the newest that held before a day."""
    newest = ProgramSetting.objects.filter(controller=OuterRef("controller"))
    if before is not None:
        newest = newest.filter(since__lt=before)
    first = newest.order_by("-since", "-id").values("pk")[:1]
    settings = ProgramSetting.objects.filter(controller__in=controller_ids, pk=Subquery(first))
    return {setting.controller_id: setting for setting in with_programs(settings)}
