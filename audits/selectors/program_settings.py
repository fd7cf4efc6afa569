"""A stored setting of a controller as the domain judges it."""

from __future__ import annotations

import zoneinfo
from datetime import date, time
from typing import Final

from django.db.models import Prefetch, QuerySet

from audits.domain.found_program import FoundProgram
from audits.domain.program_remarks import FoundSetting, ProgramRemark, program_remarks
from audits.models import ProgramSetting, SettingProgram, SettingRun
from properties.models import Zone
from properties.models.places import RainSensor

MONTHS: Final = 12
# Whether there is a sensor, and whether it works.
SENSOR_FACTS: Final[dict[str, tuple[bool | None, bool | None]]] = {
    RainSensor.NONE: (False, None),
    RainSensor.WORKING: (True, True),
    RainSensor.BROKEN: (True, False),
    RainSensor.UNKNOWN: (None, None),
}


def with_programs(settings: QuerySet[ProgramSetting]) -> QuerySet[ProgramSetting]:
    """Read with the settings their controllers, programs, runs and zones, in three queries."""
    runs = Prefetch("programs__runs", SettingRun.objects.select_related("zone"))
    return settings.select_related("controller__property").prefetch_related("programs", runs)


def remarks_of(setting: ProgramSetting) -> tuple[ProgramRemark, ...]:
    """Return what is wrong with a setting, by what its controller is known to be able to do."""
    return program_remarks(found_setting(setting))


def setting_now(zone: Zone) -> FoundSetting | None:
    """Return the setting that runs a zone now; None where nobody knows it."""
    if zone.controller_id is None:
        return None
    settings = with_programs(ProgramSetting.objects.filter(controller=zone.controller_id))
    newest = settings.order_by("-since", "-id").first()
    return found_setting(newest) if newest else None


def found_setting(setting: ProgramSetting) -> FoundSetting:
    """Return a stored setting as the domain sees it; it should come out of `with_programs`."""
    controller, programs = setting.controller, list(setting.programs.all())
    has_sensor, sensor_works = SENSOR_FACTS[controller.rain_sensor]
    return FoundSetting(
        programs=tuple(found_program(program) for program in programs),
        seasonal_percent=setting.seasonal_percent,
        clock_is_right=setting.clock_is_right,
        battery_is_good=setting.battery_is_good,
        has_rain_sensor=has_sensor,
        rain_sensor_works=sensor_works,
        program_count=controller.program_count,
        starts_per_program=controller.starts_per_program,
        zone_names=tuple(
            (run.zone_id, str(run.zone)) for program in programs for run in program.runs.all()
        ),
        months=_months(setting.since, _local_date(setting)),
    )


def _local_date(setting: ProgramSetting) -> date:
    zone = zoneinfo.ZoneInfo(setting.controller.property.time_zone)
    return setting.created_at.astimezone(zone).date()


def _months(first: date, last: date) -> frozenset[int]:
    """Return the months from one day to another, 1 to 12; at least that of the first."""
    count = max(0, (last.year - first.year) * MONTHS + last.month - first.month) + 1
    return frozenset((first.month - 1 + each) % MONTHS + 1 for each in range(min(count, MONTHS)))


def found_program(program: SettingProgram) -> FoundProgram:
    """Return a stored program as the domain sees it."""
    return FoundProgram(
        name=program.name,
        weekdays=frozenset(program.weekdays) or None,
        interval_days=program.interval_days,
        start_times=tuple(time.fromisoformat(start) for start in program.starts),
        zone_minutes=tuple((run.zone_id, run.run_min) for run in program.runs.all()),
    )
