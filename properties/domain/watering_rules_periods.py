"""When a watering rule is in force: its dates, its part of the year, the season of the clocks."""

from __future__ import annotations

import re
import zoneinfo
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError

_NOON: Final = time(12)
_LEAP_YEAR: Final = 2000


class Clock(StrEnum):
    """Under which time of the clocks a rule holds."""

    ALL_YEAR = "all_year"
    DAYLIGHT = "daylight"
    STANDARD = "standard"


@dataclass(frozen=True, kw_only=True)
class Period:
    """The dates and the part of each year in which a rule holds; both ends are included.

    `from_day` and `until_day` are month and day, such as 11-15; they may pass the new year.
    """

    first_date: date | None = None
    last_date: date | None = None
    clock: Clock = Clock.ALL_YEAR
    from_day: str = ""
    until_day: str = ""

    def __post_init__(self) -> None:
        if self.first_date and self.last_date and self.last_date < self.first_date:
            raise InvalidInputError(
                "The rule ends before it begins.",
                field="last_date", code="dates-crossed", remedy="Exchange the two dates.",
            )  # fmt: skip
        for field in ("from_day", "until_day"):
            _check_day(getattr(self, field), field)
        if bool(self.from_day) != bool(self.until_day):
            raise InvalidInputError(
                "A part of the year has a first and a last day.",
                field="until_day" if self.from_day else "from_day", code="half-a-season",
                remedy="Give both days, or none.",
            )  # fmt: skip

    def holds_on(self, day: date, zone: zoneinfo.ZoneInfo) -> bool:
        """Return whether a rule of this period is in force on a date in a time zone."""
        return (
            (self.first_date is None or self.first_date <= day)
            and (self.last_date is None or day <= self.last_date)
            and self._is_in_part_of_year(day)
            and self._is_under_clock(day, zone)
        )

    def _is_in_part_of_year(self, day: date) -> bool:
        if not self.from_day:
            return True
        at = f"{day:%m-%d}"
        if self.from_day <= self.until_day:
            return self.from_day <= at <= self.until_day
        return at >= self.from_day or at <= self.until_day

    def _is_under_clock(self, day: date, zone: zoneinfo.ZoneInfo) -> bool:
        if self.clock is Clock.ALL_YEAR:
            return True
        return is_daylight_time(day, zone) is (self.clock is Clock.DAYLIGHT)


def is_daylight_time(day: date, zone: zoneinfo.ZoneInfo) -> bool:
    """Return whether the clocks of a zone are put forward at noon of a date.

    So the day of the change counts as the season that begins on it. A zone that never puts its
    clocks forward is under standard time all the year.

    References
    ----------
    The IANA time zone database. In the United States: from the second Sunday of March to the
    first Sunday of November (Energy Policy Act of 2005, section 110).
    """
    offsets = [
        datetime.combine(at, _NOON, zone).utcoffset()
        for at in (day, date(day.year, 1, 1), date(day.year, 7, 1))
    ]
    now, january, july = (offset for offset in offsets if offset is not None)
    return now > min(january, july)


def _check_day(text: str, field: str) -> None:
    if not text:
        return
    try:
        if not re.fullmatch(r"\d\d-\d\d", text, re.ASCII):
            raise ValueError(text)
        date(_LEAP_YEAR, int(text[:2]), int(text[3:]))
    except ValueError as error:
        raise InvalidInputError(
            f"'{text}' is no day of the year.",
            field=field, code="bad-day", remedy="Write month and day, such as 11-15.",
        ) from error  # fmt: skip
