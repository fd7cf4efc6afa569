"""What is replayed: the zones of a property as they stand, and each way of watering asked for."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from django.db.models import OuterRef, Subquery

from audits.domain.found_program import FoundProgram
from audits.domain.repair_worth import uniformity_after
from audits.models import ProgramSetting
from audits.selectors.diagnosis import zone_diagnosis
from audits.selectors.program_settings import found_program, with_programs
from audits.selectors.zones import ruling_tests
from properties.domain.errors import DomainError, RefusedError
from properties.models import Property, Zone
from properties.models.places import RainSensor
from scheduling.domain.replay_schedules import (
    ALWAYS_WHOLE,
    MONTHS,
    IdealSchedule,
    RainSkip,
    ReplayCase,
    ReplayZone,
    Schedule,
    SetSchedule,
)
from scheduling.domain.what_if import (
    AddRainSensor,
    Change,
    ChangeDays,
    ChangeMinutes,
    CutArea,
    MendFaults,
    SetPercents,
    SwapNozzles,
    changed,
)
from scheduling.selectors.zone_facts import limits_of, zone_facts

FOUND: Final = "found"
IDEAL: Final = "ideal"
PROGRAM: Final = "program"
BASES: Final = (FOUND, IDEAL, PROGRAM)
CHANGE_KINDS: Final[dict[str, type[Change]]] = {
    "mend_faults": MendFaults,
    "swap_nozzles": SwapNozzles,
    "cut_area": CutArea,
    "days": ChangeDays,
    "minutes": ChangeMinutes,
    "rain_sensor": AddRainSensor,
    "seasonal_percent": SetPercents,
}
# Common practice: a quarter of an inch holds the waterings of the next day back.
USUAL_SENSOR: Final = RainSkip(rain_mm=6.35, days=1)

_READ_AS: Final[dict[str, Callable[[Any], Any]]] = {
    "weekdays": frozenset,
    "seasonal_percent": tuple,
}


@dataclass(frozen=True)
class FoundZone:
    """A zone as it stands: what is known of it, what its controller is set to, or why not."""

    zone: Zone
    ready: ReplayZone | None
    refusal: DomainError | None
    setting: ProgramSetting | None

    @property
    def has_sensor(self) -> bool:
        """Whether a rain sensor is known to work; what it is set to nobody knows."""
        controller = self.zone.controller
        return controller is not None and controller.rain_sensor == RainSensor.WORKING


def found_zones(
    property_: Property,
    latitude_deg: float,
    *,
    before: dt.date | None = None,
    with_repairs: bool = False,
) -> list[FoundZone]:
    """Return the active zones of a property, with the setting that ran last (before a day).

    With repairs the uniformity to expect of each zone once it is mended is found out as well.
    """
    zones = list(
        property_.zones.filter(is_active=True)
        .select_related("controller", "property")
        .prefetch_related("head_groups", "bucket_tests", "emitter_checks")
        .order_by("number", "id")
    )
    tests = ruling_tests([zone.pk for zone in zones])
    settings = _settings_of({zone.controller_id for zone in zones if zone.controller_id}, before)
    found = []
    for zone in zones:
        ready, refusal = None, None
        try:
            facts = zone_facts(zone, tests.get(zone.pk), latitude_deg=latitude_deg)
            ready = ReplayZone(
                zone_id=zone.pk,
                facts=facts,
                limits=limits_of(zone.controller),
                expected_du_lq=expected_uniformity(zone) if with_repairs else None,
            )
        except DomainError as error:
            refusal = error
        setting = settings.get(zone.controller_id) if zone.controller_id else None
        found.append(FoundZone(zone, ready, refusal, setting))
    return found


def expected_uniformity(zone: Zone) -> float | None:
    """Return the best uniformity that the repair of one likely cause lets expect, if any does."""
    try:
        diagnosis = zone_diagnosis(zone)
    except DomainError:
        return None
    after = [uniformity_after(cause.kind, diagnosis.evidence) for cause in diagnosis.causes]
    return max((each for each in after if each is not None), default=None)


def needs_repairs(variants: Sequence[Mapping[str, Any]]) -> bool:
    """Return whether any change mends faults without saying how well."""
    return any(
        change["kind"] == "mend_faults" and change.get("du_lq") is None
        for variant in variants
        for change in variant["changes"]
    )


def case_of(found: FoundZone, variant: Mapping[str, Any], first: dt.date) -> ReplayCase:
    """Return a zone under one way of watering.

    Raises
    ------
    RefusedError
        For a zone that cannot be replayed so: without a rate, a known setting, or a program that
        names it, or where a change cannot be made.
    """
    if found.refusal is not None:
        raise found.refusal
    assert found.ready is not None
    schedule = _schedule(found, variant, first)
    return changed(ReplayCase(found.ready, schedule), changes_of(variant))


def changes_of(variant: Mapping[str, Any]) -> list[Change]:
    """Return the changes of a variant as the domain makes them."""
    return [_change(values) for values in variant["changes"]]


def programs_of(variant: Mapping[str, Any]) -> tuple[FoundProgram, ...]:
    """Return the programs that a variant gives."""
    return tuple(
        FoundProgram(
            weekdays=frozenset(program.get("weekdays") or ()) or None,
            interval_days=program.get("interval_days"),
            start_times=tuple(dt.time.fromisoformat(start) for start in program["starts"]),
            zone_minutes=tuple((UUID(run["zone"]), run["run_min"]) for run in program["runs"]),
        )
        for program in variant["programs"]
    )


def found_schedule(found: FoundZone) -> SetSchedule:
    """Return what the controller of a zone is set to; a sensor that works counts as usual."""
    if found.setting is None:
        raise RefusedError(
            "It is not known what the controller of this zone is set to.",
            code="no-setting", field="zone",
            remedy="Record the controller's setting, or replay a program that you give.",
        )  # fmt: skip
    return SetSchedule(
        programs=tuple(found_program(program) for program in found.setting.programs.all()),
        anchor=found.setting.since,
        monthly_percent=(float(found.setting.seasonal_percent),) * MONTHS,
        rain_skip=USUAL_SENSOR if found.has_sensor else None,
    )


def _schedule(found: FoundZone, variant: Mapping[str, Any], first: dt.date) -> Schedule:
    if variant["base"] == IDEAL:
        return IdealSchedule()
    if variant["base"] == FOUND:
        return found_schedule(found)
    programs = programs_of(variant)
    if not any(found.zone.pk in dict(program.zone_minutes) for program in programs):
        raise RefusedError(
            "The given program does not name this zone.",
            code="not-in-program", field="zone", remedy="Give the minutes of this zone as well.",
        )  # fmt: skip
    return SetSchedule(
        programs=programs,
        anchor=dt.date.fromisoformat(variant["anchor"]) if variant.get("anchor") else first,
        monthly_percent=tuple(variant.get("seasonal_percent") or ALWAYS_WHOLE),
        rain_skip=USUAL_SENSOR if found.has_sensor else None,
    )


def _change(values: Mapping[str, Any]) -> Change:
    given = {name: value for name, value in values.items() if name not in ("kind", "zones")}
    fields = {
        name: _READ_AS[name](value) if name in _READ_AS and value is not None else value
        for name, value in given.items()
    }
    change = CHANGE_KINDS[values["kind"]](**fields)
    return replace(change, zone_ids=frozenset(UUID(zone) for zone in values.get("zones", ())))


def _settings_of(controller_ids: set[UUID], before: dt.date | None) -> dict[UUID, ProgramSetting]:
    """Return for each controller its newest setting, or the newest that held before a day."""
    newest = ProgramSetting.objects.filter(controller=OuterRef("controller"))
    if before is not None:
        newest = newest.filter(since__lt=before)
    first = newest.order_by("-since", "-id").values("pk")[:1]
    settings = ProgramSetting.objects.filter(controller__in=controller_ids, pk=Subquery(first))
    return {setting.controller_id: setting for setting in with_programs(settings)}
