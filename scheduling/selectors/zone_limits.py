"""What binds the watering of a zone: its controller, and the rules of the property's district."""

from __future__ import annotations

import calendar
import datetime as dt
from dataclasses import replace

from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_spans import AllowedSpan, allowed_span
from properties.models import Property, Zone
from properties.selectors.watering_rules import place_of, rules_of, use_of
from scheduling.domain.zone_facts import WateringLimits
from scheduling.selectors.zone_facts import limits_of

_WEEK = 7


class PropertyLimits:
    """The limits of the zones of one property; what zones of one use share is asked once."""

    def __init__(self, property_: Property) -> None:
        self._district = rules_of(property_)
        self._place = place_of(property_)
        self._spans: dict[tuple[Case, dt.date, dt.date], AllowedSpan] = {}

    def between(self, zone: Zone, first: dt.date, last: dt.date) -> WateringLimits:
        """Return what holds on every date from the first to the last."""
        limits = limits_of(zone.controller)
        if self._district is None:
            return limits
        span = self._span(Case(place=self._place, use=use_of(zone)), first, last)
        every_day = len(span.weekdays) == _WEEK
        return replace(
            limits,
            allowed_weekdays=None if every_day else span.weekdays,
            daily_minutes_cap=span.minutes_cap,
            daily_depth_cap_mm=span.depth_cap_mm,
        )

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
