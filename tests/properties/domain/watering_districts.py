"""The rules of real districts as data, each with where it was read; for tests alone."""

from __future__ import annotations

import zoneinfo
from datetime import date
from typing import Any

from properties.domain.watering_rules import DistrictRules, Purpose
from properties.domain.watering_rules_audience import Method, Place, PropertyClass, ZoneUse
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_entries import RuleEntry, rule_of

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
NEW_YORK = zoneinfo.ZoneInfo("America/New_York")
NOT_RESIDENTIAL = ["commercial", "public", "shared_grounds", "playing_field"]


def district(name: str, *entries: dict[str, Any]) -> DistrictRules:
    rules = [RuleEntry(**{"name": f"rule {place}", **each}) for place, each in enumerate(entries)]
    return DistrictRules(name, tuple(rule_of(rule) for rule in rules))


# City of Lago Vista, Texas: stage 1 watering schedule (PLAN-01, PLAN-02).
LAGO_HOURS = {"hours": ["00:00-10:00", "19:00-24:00"]}
LAGO_VISTA = district(
    "Lago Vista",
    {"addresses": "odd", "property_classes": ["residential"], "weekdays": [WED, SAT]} | LAGO_HOURS,
    {"addresses": "even", "property_classes": ["residential"], "weekdays": [THU, SUN]} | LAGO_HOURS,
    {"property_classes": ["commercial"], "weekdays": [TUE, FRI]} | LAGO_HOURS,
)

# St. Johns River Water Management District, Florida, as the pages of Melbourne and St. Augustine
# tell the district's order (PLAN-04), and in winter the announcements of the district: Saturday,
# Sunday, Tuesday. Reclaimed water at any time, systems may be tested (the district's page).
ST_JOHNS_ALL = {
    "closed_hours": ["10:00-16:00"], "minutes_cap": 60, "exempt_methods": ["hand"],
    "exempt_waters": ["reclaimed"], "test_runs": "free", "test_run_cap_min": 10,
    "planting_any_days": 30, "planting_alternate_days": 30, "planting_frees_hours": True,
}  # fmt: skip
ODD_OR_NONE = {"addresses": "odd", "takes_no_number": True, "property_classes": ["residential"]}
EVEN = {"addresses": "even", "property_classes": ["residential"]}
OTHERS = {"property_classes": NOT_RESIDENTIAL}
SUMMER, WINTER = {"clock": "daylight"}, {"clock": "standard"}
ST_JOHNS = district(
    "St. Johns River",
    ODD_OR_NONE | SUMMER | {"weekdays": [WED, SAT]} | ST_JOHNS_ALL,
    EVEN | SUMMER | {"weekdays": [THU, SUN]} | ST_JOHNS_ALL,
    OTHERS | SUMMER | {"weekdays": [TUE, FRI]} | ST_JOHNS_ALL,
    ODD_OR_NONE | WINTER | {"weekdays": [SAT]} | ST_JOHNS_ALL,
    EVEN | WINTER | {"weekdays": [SUN]} | ST_JOHNS_ALL,
    OTHERS | WINTER | {"weekdays": [TUE]} | ST_JOHNS_ALL,
)

# City of Apopka; Town of Howey-in-the-Hills, Florida: at most 3/4 in and an hour a zone and day,
# drip and micro-spray at any time (PLAN-08); new landscape on any day for 30 days, then every
# other day for 30 (PLAN-09); chemicals watered in, at most 1/4 in within 24 h, any day (PLAN-11).
HOWEY = district(
    "Howey-in-the-Hills",
    {
        "weekdays": [WED, SAT], "closed_hours": ["10:00-16:00"], "minutes_cap": 60,
        "depth_cap_mm": 19.05, "exempt_methods": ["drip", "micro_spray"],
        "planting_any_days": 30, "planting_alternate_days": 30,
        "treatment_depth_mm": 6.35, "treatment_within_h": 24,
    },
)  # fmt: skip

# Hillsborough County, Florida, "When are my watering days?" (the county's newsroom, May 2019) and
# its page "Find my watering days" for places without an address (PLAN-10).
HILLSBOROUGH_ALL = {"hours": ["00:00-08:00", "18:00-24:00"], "exempt_methods": ["hand", "drip"]}
HILLSBOROUGH = district(
    "Hillsborough County",
    {"addresses": "digits", "last_digits": "0-3", "weekdays": [MON, THU]} | HILLSBOROUGH_ALL,
    {"addresses": "digits", "last_digits": "4-6", "weekdays": [TUE, FRI]} | HILLSBOROUGH_ALL,
    {"addresses": "digits", "last_digits": "7-9", "takes_no_number": True, "weekdays": [WED, SAT]}
    | HILLSBOROUGH_ALL,
)


def case(
    house_number: int | None = 47,
    *,
    zone: zoneinfo.ZoneInfo = NEW_YORK,
    kind: str = "residential",
    water: Any = None,
    method: str = "spray",
    planting_date: date | None = None,
    **changes: Any,
) -> Case:
    place = {"house_number": house_number, "time_zone": zone, "property_class": PropertyClass(kind)}
    use = ZoneUse(method=Method(method), planting_date=planting_date)
    if water is not None:
        place["water"] = water
    return Case(place=Place(**place), use=use, **{"purpose": Purpose.WATERING, **changes})
