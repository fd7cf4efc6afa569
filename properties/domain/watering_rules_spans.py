"""What the rules let a plan count on over several dates: the days, hours and caps of all of them.

A plan that is set once and left must hold on its strictest date. So a weekday counts as allowed
when it is allowed each time it comes, the hours are those of all its dates, the caps the least.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import reduce
from itertools import pairwise
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.watering_rules import DistrictRules
from properties.domain.watering_rules_answers import AllowedDay, allowed_on
from properties.domain.watering_rules_cases import Case, least
from properties.domain.watering_rules_hours import WHOLE_DAY, Ranges, common

MOST_DAYS: Final = 366


@dataclass(frozen=True, kw_only=True)
class AllowedSpan:
    """The strictest of some dates.

    `weekdays` (Monday = 0) are allowed on each of their dates in the span; a span under a week
    holds only the weekdays that occur in it. `hours`, `runs_on_to_min` and the caps are the
    strictest of the dates of those weekdays. `changes` are the dates on which other rules begin to
    hold than on the day before.
    """

    days: tuple[AllowedDay, ...]
    weekdays: frozenset[int]
    hours: Ranges
    runs_on_to_min: int
    minutes_cap: float | None
    depth_cap_mm: float | None
    changes: tuple[date, ...]
    remarks: tuple[str, ...]

    @property
    def first_date(self) -> date:
        """Return the first of the dates."""
        return self.days[0].date

    @property
    def last_date(self) -> date:
        """Return the last of the dates."""
        return self.days[-1].date


def allowed_span(
    district: DistrictRules | None, case: Case, first_date: date, last_date: date
) -> AllowedSpan:
    """Return what holds on every date from the first to the last, both included.

    Parameters
    ----------
    district, case : as in `allowed_on`.
    first_date, last_date : local dates; 1 to 366 of them.

    Raises
    ------
    InvalidInputError
        Naming `last_date`, for dates that are crossed or too many.
    """
    count = (last_date - first_date).days + 1
    if not 1 <= count <= MOST_DAYS:
        raise InvalidInputError(
            "The dates are crossed." if count < 1 else f"{count} dates are too many at once.",
            field="last_date", code="bad-span",
            remedy=f"Give a last date that is 0 to {MOST_DAYS - 1} days after the first.",
        )  # fmt: skip
    dates = [first_date + timedelta(days=number) for number in range(count)]
    return _strictest(tuple(allowed_on(district, case, day) for day in dates))


def _strictest(days: tuple[AllowedDay, ...]) -> AllowedSpan:
    refused = {day.date.weekday() for day in days if not day.is_watering_day}
    weekdays = frozenset(day.date.weekday() for day in days) - refused
    kept = [day for day in days if day.date.weekday() in weekdays]
    return AllowedSpan(
        days=days,
        weekdays=weekdays,
        hours=reduce(common, (day.hours for day in kept), WHOLE_DAY) if kept else (),
        runs_on_to_min=min((day.runs_on_to_min for day in kept), default=0),
        minutes_cap=reduce(least, (day.minutes_cap for day in kept), None),
        depth_cap_mm=reduce(least, (day.depth_cap_mm for day in kept), None),
        changes=tuple(_changes(days)),
        remarks=tuple(dict.fromkeys(_remarks(days, kept))),
    )


def _changes(days: Sequence[AllowedDay]) -> Iterator[date]:
    for before, day in pairwise(days):
        if before.regime != day.regime:
            yield day.date


def _remarks(days: Sequence[AllowedDay], kept: Sequence[AllowedDay]) -> Iterator[str]:
    for day in days:
        yield from day.remarks
    if not kept:
        yield "No weekday is allowed on all of these dates: plan a shorter time, or see each date."
    elif not reduce(common, (day.hours for day in kept), WHOLE_DAY):
        yield "No hour is allowed on all of these dates: plan a shorter time, or see each date."
