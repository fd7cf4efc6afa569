"""What is known of zones from the audits: the test that rules, and the program that runs."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from audits.domain.found_program import FoundProgram, weekly_minutes
from audits.models import CatchTest, ProgramSetting
from audits.selectors.program_settings import found_program
from properties.models import StaffMember, Zone
from properties.selectors.scope import narrow_to_scope


def visible_zones(staff: StaffMember, now: datetime) -> QuerySet[Zone]:
    """Return the zones that a member of staff may see, with all that their water depends on."""
    zones = Zone.objects.select_related("property", "controller").prefetch_related("head_groups")
    return narrow_to_scope(zones, "property", staff=staff, now=now)


def ruling_tests(zone_ids: Iterable[UUID]) -> dict[UUID, CatchTest]:
    """Return for each zone its newest valid test: the one by which the plan is made."""
    tests = ruling_test_rows(zone_ids).select_related("zone").prefetch_related("readings")
    return {test.zone_id: test for test in tests}


def ruling_test_rows(zone_ids: Iterable[UUID]) -> QuerySet[CatchTest]:
    """Return the newest valid test of each zone, alone.

    Valid is what is neither voided nor taken before something was mended, nor superseded by a
    test that still counts.
    """
    return CatchTest.objects.filter(pk__in=_ruling_of(Zone.objects.filter(pk__in=list(zone_ids))))


def valid_tests() -> QuerySet[CatchTest]:
    """Return the tests that count."""
    successors = CatchTest.objects.filter(supersedes=OuterRef("pk"), voided_at__isnull=True)
    return CatchTest.objects.filter(
        ~Exists(successors), before_mending=False, voided_at__isnull=True
    )


def _ruling_of(zones: QuerySet[Zone]) -> QuerySet[Zone, Any]:
    """Return the id of each zone's ruling test: asked once for each zone, not for each test."""
    newest = valid_tests().filter(zone=OuterRef("pk")).order_by("-taken_at", "-id").values("pk")
    ruled = zones.order_by().annotate(ruling=Subquery(newest[:1])).filter(ruling__isnull=False)
    return ruled.values("ruling")


def narrow_to_ruling(tests: QuerySet[CatchTest], *, is_ruling: bool) -> QuerySet[CatchTest]:
    """Narrow tests to those that rule a zone in use, or to all others."""
    newer = valid_tests().filter(
        Q(taken_at__gt=OuterRef("taken_at"))
        | Q(taken_at=OuterRef("taken_at"), pk__gt=OuterRef("pk")),
        zone=OuterRef("zone"),
    )
    counts = Q(before_mending=False, voided_at__isnull=True, zone__is_active=True)
    successors = CatchTest.objects.filter(supersedes=OuterRef("pk"), voided_at__isnull=True)
    if is_ruling:
        return tests.filter(~Exists(newer), ~Exists(successors), counts)
    return tests.filter(Exists(newer) | Exists(successors) | ~counts)


def running_minutes(zones: Iterable[Zone]) -> dict[UUID, float]:
    """Return for each zone whose controller's setting is known its minutes in a mean week [min]."""
    by_controller = {zone.pk: zone.controller_id for zone in zones if zone.controller_id}
    settings = _newest_settings(set(by_controller.values()))
    return {
        zone_id: weekly_minutes(_programs(setting), zone_id, setting.seasonal_percent)
        for zone_id, controller_id in by_controller.items()
        if (setting := settings.get(controller_id)) is not None
    }


def _newest_settings(controller_ids: set[UUID]) -> dict[UUID, ProgramSetting]:
    newest = (
        ProgramSetting.objects.filter(controller=OuterRef("controller"))
        .order_by("-since", "-id")
        .values("pk")[:1]
    )
    settings = ProgramSetting.objects.filter(
        controller__in=controller_ids, pk=Subquery(newest)
    ).prefetch_related("programs__runs")
    return {setting.controller_id: setting for setting in settings}


def _programs(setting: ProgramSetting) -> list[FoundProgram]:
    return [found_program(program) for program in setting.programs.all()]
