"""What binds the watering of a zone: its controller, and the rules of the property's district."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from audits.domain.treatments import WaterInRule
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_spans import AllowedSpan, allowed_span
from properties.models import Property, Zone
from properties.selectors.watering_rules import place_of, rules_of, use_of
from scheduling.domain.dated_rules import DayRules, dated_rules, relieved_days, water_in_rule
from scheduling.domain.running_days import LONGEST_GAP_DAYS
from scheduling.domain.zone_facts import WateringLimits
from scheduling.selectors.zone_facts import limits_of

_WEEK: Final = 7


@dataclass(frozen=True)
class WaterInLimits:
    """What the district lets be watered in: the days that it opens for that, and by which rule.

    `code` says which rules a treatment comes under.
    """

    code: str
    rule: WaterInRule | None = None
    relieved: Mapping[dt.date, DayRules] | None = None


class PropertyLimits:
    """The limits of the zones of one property; what zones of one use share is asked once."""

    def __init__(self, property_: Property) -> None:
        self._district = rules_of(property_)
        self._place = place_of(property_)
        self._spans: dict[tuple[Case, dt.date, dt.date], AllowedSpan] = {}
        self._dated: dict[tuple[Case, dt.date, int], dict[dt.date, DayRules]] = {}

    def between(self, zone: Zone, first: dt.date, last: dt.date) -> WateringLimits:
        """Return what holds on every date from the first to the last."""
        limits = limits_of(zone.controller)
        if self._district is None:
            return limits
        span = self._span(self._case(zone), first, last)
        every_day = len(span.weekdays) == _WEEK
        return replace(
            limits,
            allowed_weekdays=None if every_day else span.weekdays,
            daily_minutes_cap=span.minutes_cap,
            daily_depth_cap_mm=span.depth_cap_mm,
        )

    def on_dates(self, zone: Zone, first: dt.date, days: int) -> WateringLimits:
        """Return what holds on each of some dates, and on those that the last of them waits for."""
        limits = limits_of(zone.controller)
        if self._district is None:
            return limits
        key = (self._case(zone), first, days + LONGEST_GAP_DAYS)
        if key not in self._dated:
            dates = (first + dt.timedelta(days=number) for number in range(key[2]))
            self._dated[key] = dated_rules(self._district, key[0], dates)
        return replace(limits, by_date=self._dated[key])

    def water_in(self, zone: Zone, applied_at: dt.datetime, since: dt.datetime) -> WaterInLimits:
        """Return what the district lets be watered in of a treatment, from a moment on."""
        if self._district is None:
            return WaterInLimits("no-district")
        case = self._case(zone)
        rule = water_in_rule(self._district, case, applied_at)
        if rule is None:
            return WaterInLimits("no-rule")
        local = since.astimezone(self._place.time_zone)
        relieved = relieved_days(self._district, case, applied_at, local)
        return WaterInLimits("rule", rule, relieved)

    def _case(self, zone: Zone) -> Case:
        return Case(place=self._place, use=use_of(zone))

    def by_month(self, zone: Zone, on: dt.date | None) -> tuple[WateringLimits, ...]:
        """Return the limits of the twelve coming months, January first.

        Without a day from which is planned nobody knows which rules will hold: then the controller
        alone binds.
        """
        if on is None:
            return (limits_of(zone.controller),) * 12
        return tuple(self.between(zone, *_month_to_come(month, on)) for month in range(1, 13))

    def _span(self, case: Case, first: dt.date, last: dt.date) -> AllowedSpan:
        key = (case, first, last)
        if key not in self._spans:
            self._spans[key] = allowed_span(self._district, case, first, last)
        return self._spans[key]


def _month_to_come(month: int, on: dt.date) -> tuple[dt.date, dt.date]:
    year = on.year + (month < on.month)
    return dt.date(year, month, 1), dt.date(year, month, calendar.monthrange(year, month)[1])
