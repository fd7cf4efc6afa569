"""The rules of a property's district laid over past weather, as they hold in the year to come."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from properties.models import Property
from scheduling.domain.dated_rules import DayRules
from scheduling.domain.replay_limits import rules_of_past, year_to_come
from scheduling.domain.replay_schedules import ReplayDays
from scheduling.selectors.replay_zones import FoundZone
from scheduling.selectors.zone_limits import PropertyLimits

_DAYS = 366


def district_of(property_: Property) -> str | None:
    """Return the name of the district whose rules bind a property; None where none is known."""
    district = property_.watering_district
    return None if district is None else district.name


def under_rules(
    property_: Property, zones: Sequence[FoundZone], days: ReplayDays, on: dt.date
) -> list[FoundZone]:
    """Return the zones with what the rules let them have on each of some past days.

    The rules are those of the twelve months to come from `on`, as a plan keeps them, and not those
    that held then: what is asked is how plan and program would have done.
    """
    if property_.watering_district_id is None:
        return list(zones)
    limits = PropertyLimits(property_)
    past: list[dt.date] = days.dates.astype("datetime64[D]").tolist()
    known: dict[int, dict[dt.date, DayRules]] = {}  # zones of one use share their dates
    bound = []
    for found in zones:
        coming = limits.on_dates(found.zone, year_to_come(on), _DAYS).by_date or {}
        if id(coming) not in known:
            known[id(coming)] = rules_of_past(coming, past, on)
        bound.append(found.bound_by(known[id(coming)]))
    return bound
