"""The days on which a controller's program can run, and whether two of them ever meet."""

from __future__ import annotations

import calendar
import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within
from scheduling.domain.intervals import EVERY_DAY, WEEK

ODD: Final = "odd"
EVEN: Final = "even"
LONGEST_INTERVAL_DAYS: Final = 31

# Arithmetic over the 1461 days of four years: seven months of a year end on a 31st and so does, in
# effect, the February of a leap year: two odd dates follow each other there, or two even ones lie
# three days apart. The leap years that full centuries leave out are neglected.
_CALENDAR_DAYS: Final = 1461
_PARITY_GAPS: Final = {ODD: ((1, 29), (2, 716)), EVEN: ((2, 687), (3, 29))}

Gaps = tuple[tuple[int, int], ...]


@dataclass(frozen=True, order=True)
class DayPattern:
    """The days of a program: weekdays, or every so many days, or the odd or even dates.

    Exactly one of `weekdays` (Monday = 0), `every_days` and `parity` is set. `first_day` says on
    which day an interval begins, counted from a Monday = 0.
    """

    weekdays: tuple[int, ...] = ()
    every_days: int | None = None
    first_day: int = 0
    parity: str | None = None

    def __post_init__(self) -> None:
        if (bool(self.weekdays), self.every_days is not None, self.parity is not None).count(
            True
        ) != 1:
            raise InvalidInputError(
                "A day pattern is by weekdays, by interval or by dates.",
                field="pattern", remedy="Give exactly one of the three.",
            )  # fmt: skip
        if not set(self.weekdays) <= EVERY_DAY:
            raise InvalidInputError(
                "There is no such weekday.",
                field="weekdays", remedy="Count from Monday = 0 to Sunday = 6.",
            )  # fmt: skip
        if self.every_days is not None:
            number_within(self.every_days, 1, LONGEST_INTERVAL_DAYS, field="every_days")
            number_within(self.first_day, 0, self.every_days - 1, field="first_day")
        check_parity(self.parity, field="parity")

    @property
    def words(self) -> str:
        """The days as a person sets them."""
        if self.weekdays:
            return ", ".join(calendar.day_name[day] for day in sorted(self.weekdays))
        if self.parity is not None:
            return f"{self.parity} dates"
        return "every day" if self.every_days == 1 else f"every {self.every_days} days"

    @property
    def gaps(self) -> Gaps:
        """The days from one watering to the next, each with how often it comes in a period."""
        if self.parity is not None:
            return _PARITY_GAPS[self.parity]
        if self.every_days is not None:
            return ((self.every_days, 1),)
        days = sorted(self.weekdays)
        lengths = [b - a for a, b in zip(days, [*days[1:], days[0] + WEEK], strict=True)]
        return tuple((length, lengths.count(length)) for length in sorted(set(lengths)))

    def keeps_to(self, weekdays: frozenset[int], parity: str | None, *, later: int = 0) -> bool:
        """Whether all its days, or those so many days later (0 or 1), are allowed."""
        if self.parity is not None:
            same = parity is None or (parity == self.parity and later == 0)
            return same and weekdays == EVERY_DAY
        if parity is not None:
            return False
        return {(day + later) % WEEK for day in self._days_of_week()} <= weekdays

    def meets(self, other: DayPattern, *, later: int = 0) -> bool:
        """Whether `other` ever runs so many days (0 or 1) after a day of this pattern."""
        if self.parity is not None and other.parity is not None:
            if later:
                return ODD in (self.parity, other.parity)  # 31st to 1st, but no even to even
            return self.parity == other.parity
        if self.parity is not None or other.parity is not None:
            return True
        if self.every_days is not None and other.every_days is not None:
            common = math.gcd(self.every_days, other.every_days)
            return (self.first_day + later - other.first_day) % common == 0
        mine = {(day + later) % WEEK for day in self._days_of_week()}
        return bool(mine & other._days_of_week())

    def may_run_on(self, day: int) -> bool:
        """Whether it runs so many days after a Monday; even dates are taken to fall elsewhere."""
        if self.every_days is not None:
            return day % self.every_days == self.first_day
        return self.parity == ODD or day % WEEK in self.weekdays

    def _days_of_week(self) -> set[int]:
        """The weekdays on which it runs sooner or later."""
        if self.every_days is None:
            return set(self.weekdays)
        if self.every_days % WEEK:
            return set(EVERY_DAY)
        return {self.first_day % WEEK}


def check_parity(parity: str | None, *, field: str) -> None:
    """Refuse what is neither odd nor even nor nothing."""
    if parity not in (None, ODD, EVEN):
        raise InvalidInputError(
            f"Dates are odd or even, not '{parity}'.",
            field=field, remedy="Give 'odd', 'even' or nothing.",
        )  # fmt: skip


def days_in_period(gaps: Gaps) -> int:
    """Return the days after which a pattern comes round."""
    return sum(gap * count for gap, count in gaps)


def waterings_a_week(gaps: Gaps) -> float:
    """Return the watering days in a mean week."""
    return WEEK * sum(count for _, count in gaps) / days_in_period(gaps)


def weekday_patterns(weekdays: frozenset[int]) -> Iterator[DayPattern]:
    """Yield every set of the weekdays, small ones first."""
    for size in range(1, len(weekdays) + 1):
        for days in combinations(sorted(weekdays), size):
            yield DayPattern(weekdays=days)


def interval_patterns(longest_days: int) -> Iterator[DayPattern]:
    """Yield every interval up to the longest, with every day on which it can begin."""
    for every in range(1, longest_days + 1):
        for first in range(every):
            yield DayPattern(every_days=every, first_day=first)


def parity_patterns() -> Iterator[DayPattern]:
    """Yield the odd and the even dates."""
    yield DayPattern(parity=ODD)
    yield DayPattern(parity=EVEN)
