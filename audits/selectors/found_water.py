"""What a zone gets under the program that was found, in a week and in a year."""

from __future__ import annotations

from dataclasses import dataclass

from audits.domain.water_record import FoundAgainstNeed, MonthlyNeed, found_against_need
from audits.models import CatchTest
from audits.selectors.head_rates import expected_rate_mm_h
from audits.selectors.zones import ruling_tests, running_minutes
from properties.models import Zone

MIN_PER_H = 60.0


@dataclass(frozen=True)
class FoundWater:
    """The program as found, and how it stands to a need; None is unknown, zero is no water."""

    zone: Zone
    test: CatchTest | None
    rate_mm_h: float | None
    weekly_min: float | None
    weekly_mm: float | None
    against_need: FoundAgainstNeed


def found_water(zone: Zone, need: MonthlyNeed | None = None) -> FoundWater:
    """Return what the program as found gives a zone; without a need the verdicts are unknown."""
    test = ruling_tests([zone.pk]).get(zone.pk)
    rate = test.rate_mm_h if test else expected_rate_mm_h(zone)
    minutes = running_minutes([zone]).get(zone.pk)
    weekly_mm = None if rate is None or minutes is None else rate * minutes / MIN_PER_H
    against = found_against_need(weekly_mm, need, zone.area_m2)
    return FoundWater(zone, test, rate, minutes, weekly_mm, against)
