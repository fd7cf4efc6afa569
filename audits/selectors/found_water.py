"""What a zone gets under the program that was found, in a week and in a year."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from audits.domain.found_program import weekly_minutes
from audits.domain.program_remarks import FoundSetting, ProgramRemark, program_remarks
from audits.domain.water_record import FoundAgainstNeed, MonthlyNeed, found_against_need
from audits.models import CatchTest, ProgramSetting
from audits.selectors.head_rates import expected_rate_mm_h
from audits.selectors.program_settings import found_setting, setting_now, with_programs
from audits.selectors.zones import ruling_tests
from properties.models import Zone

MIN_PER_H = 60.0


@dataclass(frozen=True)
class FoundWater:
    """The program as found, and how it stands to a need; None is unknown, zero is no water.

    `remarks` says what is wrong with the setting, as far as it is about this zone, and `months`
    in which months, 1 to 12, it is known to have run.
    """

    zone: Zone
    test: CatchTest | None
    rate_mm_h: float | None
    weekly_min: float | None
    weekly_mm: float | None
    against_need: FoundAgainstNeed
    remarks: tuple[ProgramRemark, ...] = ()
    months: frozenset[int] = frozenset()


def found_water(
    zone: Zone, need: MonthlyNeed | None = None, *, on: date | None = None
) -> FoundWater:
    """Return what the program as found gives a zone; without a need the verdicts are unknown.

    `on` asks for the program that ran on a day; None is the one that runs now.
    """
    test = ruling_tests([zone.pk]).get(zone.pk)
    rate = test.rate_mm_h if test else expected_rate_mm_h(zone)
    found = setting_now(zone) if on is None else _setting_on(zone, on)
    minutes = None if found is None else _weekly_min(found, zone)
    weekly_mm = None if rate is None or minutes is None else rate * minutes / MIN_PER_H
    against = found_against_need(weekly_mm, need, zone.area_m2)
    return FoundWater(
        zone=zone,
        test=test,
        rate_mm_h=rate,
        weekly_min=minutes,
        weekly_mm=weekly_mm,
        against_need=against,
        remarks=_remarks(found, zone),
        months=found.months if found else frozenset(),
    )


def _setting_on(zone: Zone, on: date) -> FoundSetting | None:
    if zone.controller_id is None:
        return None
    settings = ProgramSetting.objects.filter(controller=zone.controller_id, since__lte=on)
    newest = with_programs(settings).order_by("-since", "-id").first()
    return found_setting(newest) if newest else None


def _weekly_min(found: FoundSetting, zone: Zone) -> float:
    return weekly_minutes(found.programs, zone.pk, found.seasonal_percent)


def _remarks(found: FoundSetting | None, zone: Zone) -> tuple[ProgramRemark, ...]:
    remarks = program_remarks(found) if found else ()
    return tuple(remark for remark in remarks if remark.concerns(zone.pk))
