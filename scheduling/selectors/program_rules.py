"""What the district allows the programs of a controller: the strictest for each kind of zone."""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final

from properties.domain.site import HeadKind
from properties.domain.watering_rules_cases import Case
from properties.domain.watering_rules_spans import AllowedSpan, allowed_span
from properties.models import Property, Zone
from properties.selectors.watering_rules import place_of, rules_of, use_of
from scheduling.domain.programs import HourWindow, ProgramRules, ZoneKind

MIN_PER_DAY: Final = 24 * 60
POINT_KINDS: Final = frozenset({HeadKind.DRIP, HeadKind.BUBBLER})
KindRules = tuple[ProgramRules, ProgramRules]
"""Of sprinklers and of drip."""


def kind_of(zone: Zone) -> ZoneKind:
    """Return what waters a zone, as programs keep it apart."""
    return ZoneKind.DRIP if zone.head_kind in POINT_KINDS else ZoneKind.SPRINKLER


class MonthRules:
    """The rules of the twelve months to come at a property; each case and month is asked once."""

    def __init__(self, property_: Property, on: dt.date) -> None:
        self._district, self._place = rules_of(property_), place_of(property_)
        self._on = on
        self._spans: dict[tuple[Case, int], AllowedSpan] = {}

    def of(self, zones: Iterable[Zone], month: int) -> KindRules:
        """Return what binds the sprinklers and the drip among some zones in a month."""
        found = {ZoneKind.SPRINKLER: ProgramRules(), ZoneKind.DRIP: ProgramRules()}
        if self._district is not None:
            for use, kind in {(use_of(zone), kind_of(zone)) for zone in zones}:
                span = self._span(Case(place=self._place, use=use), month)
                found[kind] = _stricter(found[kind], span)
        return found[ZoneKind.SPRINKLER], found[ZoneKind.DRIP]

    def _span(self, case: Case, month: int) -> AllowedSpan:
        if (case, month) not in self._spans:
            first, last = _to_come(month, self._on)
            self._spans[case, month] = allowed_span(self._district, case, first, last)
        return self._spans[case, month]


def _to_come(month: int, on: dt.date) -> tuple[dt.date, dt.date]:
    year = on.year + (month < on.month)
    return dt.date(year, month, 1), dt.date(year, month, calendar.monthrange(year, month)[1])


def _stricter(rules: ProgramRules, span: AllowedSpan) -> ProgramRules:
    minutes = {
        minute % MIN_PER_DAY
        for each in span.hours
        for minute in range(each.start_min, each.end_min)
    }
    return ProgramRules(
        allowed_weekdays=rules.allowed_weekdays & span.weekdays,
        windows=tuple(_windows(sorted(rules.minutes() & minutes))),
        daily_minutes_cap=_least(rules.daily_minutes_cap, span.minutes_cap),
        daily_depth_cap_mm=_least(rules.daily_depth_cap_mm, span.depth_cap_mm),
    )


def _windows(minutes: Sequence[int]) -> Iterator[HourWindow]:
    """Yield the stretches of minutes that follow one another."""
    for _, run in groupby(enumerate(minutes), key=lambda each: each[1] - each[0]):
        stretch = [minute for _, minute in run]
        yield HourWindow(stretch[0], stretch[-1] + 1)


def _least(one: float | None, other: float | None) -> float | None:
    known = [cap for cap in (one, other) if cap is not None]
    return min(known) if known else None
