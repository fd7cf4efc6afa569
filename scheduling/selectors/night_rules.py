"""On which days the districts' rules let zones be watered, worked out once for many zones alike."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db.models import Count, Max, Sum

from properties.domain.watering_rules import MOST_PLANTING_DAYS, DistrictRules
from properties.domain.watering_rules_answers import is_watering_day
from properties.domain.watering_rules_audience import (
    Method,
    Place,
    PropertyClass,
    WaterKind,
    ZoneUse,
    house_number_at,
)
from properties.domain.watering_rules_cases import Case
from properties.models import DroughtStage, StagePeriod, WateringDistrict, WateringRule
from properties.selectors.watering_rules import rules_of_districts
from scheduling.domain.night_outlook import AHEAD_DAYS, PAST_DAYS
from scheduling.domain.refill import Truths

_ROWS_OF_RULES: Final = (WateringDistrict, WateringRule, DroughtStage, StagePeriod)
_OF_PROPERTY: Final = (
    "watering_district", "house_number", "street", "property_class", "water_source", "time_zone",
)  # fmt: skip
RULE_COLUMNS: Final = (
    *(f"zone__property__{name}" for name in _OF_PROPERTY), "zone__head_kind", "zone__planting_date",
)  # fmt: skip
"""What rules ask of the zone of a month."""

_Address = tuple[UUID | None, str, str, str, str, str, str, dt.date | None]
_ALL_DAYS: Final = 0


class NightRules:
    """The rules of all districts over the days of a night; `mark` differs when one of them does.

    Each kind of zone at a kind of address has one column of days, which its zones share.
    """

    def __init__(self, today: dt.date) -> None:
        self.mark = repr([_mark_of(model) for model in _ROWS_OF_RULES])
        districts = rules_of_districts(WateringDistrict.objects.values_list("pk", flat=True))
        self._districts = {key: rules for key, rules in districts.items() if rules.rules}
        self._dates = [today + dt.timedelta(days=n) for n in range(-PAST_DAYS, AHEAD_DAYS)]
        self._columns = [[True] * len(self._dates)]
        self._places = _Places(self._place_of)
        self._of_cases: dict[tuple[UUID | None, Case], int] = {}
        self._of_kinds: dict[tuple[Any, ...], int] = {}

    def binds_any(self) -> bool:
        """Return whether any district has a rule; without one nothing has to be read of zones."""
        return bool(self._districts)

    def days_of(self, zones: Iterable[_Address]) -> Truths:
        """Return days x zones; a zone is given by the values of RULE_COLUMNS."""
        places = [self._places[zone] for zone in zones]
        return np.array(self._columns, dtype=np.bool_).T[:, places]

    def _place_of(self, zone: _Address) -> int:
        district = self._districts.get(zone[0]) if zone[0] else None
        if district is None:
            return _ALL_DAYS
        case = _case_of(zone, district, self._dates)
        if (zone[0], case) not in self._of_cases:
            self._of_cases[zone[0], case] = self._place_of_kind(zone[0], district, case)
        return self._of_cases[zone[0], case]

    def _place_of_kind(self, key: UUID | None, district: DistrictRules, case: Case) -> int:
        """Zones that the same rules name are of one kind, whatever their number on the street."""
        named = tuple(rule.audience.has(case.place, case.use) for rule in district.rules)
        kind = (key, named, case.place.time_zone, case.use.planting_date)
        if kind not in self._of_kinds:
            self._of_kinds[kind] = len(self._columns)
            self._columns.append([is_watering_day(district, case, day) for day in self._dates])
        return self._of_kinds[kind]


class _Places(dict[_Address, int]):
    """Finds the column of each address and kind of zone once; most zones share theirs."""

    def __init__(self, find: Callable[[_Address], int]) -> None:
        super().__init__()
        self._find = find

    def __missing__(self, zone: _Address) -> int:
        place = self[zone] = self._find(zone)
        return place


@lru_cache(maxsize=1)
def night_rules(run_id: UUID, today: dt.date) -> NightRules:
    """Return them as they are at the first slice of a run that a process does."""
    return NightRules(today)


def _mark_of(model: Any) -> list[Any]:
    found = model.objects.aggregate(
        count=Count("pk"), revisions=Sum("revision"), changed_at=Max("changed_at")
    )
    return [str(value) for value in found.values()]


def _case_of(zone: _Address, district: DistrictRules, dates: Sequence[dt.date]) -> Case:
    """Return the case of a zone, with the last digit for the number: rules ask for no more."""
    _, entered, street, property_class, water, time_zone, head_kind, planting_date = zone
    number = house_number_at(entered, street)
    return Case(
        place=Place(
            house_number=None if number is None else number % 10,
            time_zone=zoneinfo.ZoneInfo(time_zone),
            property_class=PropertyClass(property_class),
            water=WaterKind(water),
        ),
        use=ZoneUse(
            method=Method(head_kind),
            planting_date=planting_date if _is_new(planting_date, district, dates) else None,
        ),
    )


def _is_new(
    planting_date: dt.date | None, district: DistrictRules, dates: Sequence[dt.date]
) -> bool:
    """Return whether rules may ask for a date of planting; most are too old for that."""
    if planting_date is None or all(rule.planting is None for rule in district.rules):
        return False
    return dates[0] - dt.timedelta(days=MOST_PLANTING_DAYS) <= planting_date <= dates[-1]
