"""The words for what a daily weather station file holds, and what is told about reading it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, Literal, NamedTuple

from properties.domain.errors import InvalidInputError

Units = Literal["metric", "standard"]
Code = Literal["TMIN", "TMAX", "PRCP", "AWND", "ADPT", "RHAV", "RHMN", "RHMX"]
"""Lowest and highest temperature, rain; means of wind, dew point and humidity, lowest and highest
humidity; in the order of the values of a `DayReading`."""

PROBLEMS_KEPT: Final = 100
STATIONS_KEPT: Final = 10_000
EXCERPT_CHARS: Final = 80


class Layout(StrEnum):
    """The public layouts of the Global Historical Climatology Network, daily (NOAA/NCEI)."""

    BY_STATION = "by-station"
    """One element of one day a line, comma separated (the by_station and by_year files)."""
    ACCESS = "access"
    """One day a line, columns by element, each with an attributes column; tenths."""
    DAILY_SUMMARIES = "daily-summaries"
    """One day a line, as ordered: metric or standard units, which the file does not say."""
    DLY = "dly"
    """One element of one month a line, fixed width; tenths."""


Cell = tuple[str, dt.date, Code, str, str, str]
"""Station code, day, element, text, measurement flag, quality flag: as in the file, not yet judged.

Plain and named tuples hold what a file of a whole network has tens of millions of; they are as
frozen as a dataclass and are made in a third of the time.
"""


class ElementValue(NamedTuple):
    """One accepted value of one element on one day [degC, mm or m/s]."""

    line_number: int
    station_code: str
    date: dt.date
    element: Code
    value: float


class DayReading(NamedTuple):
    """What a station measured on one day; None where the file has nothing that can be trusted.

    `wind_m_s` is the day's mean wind at the height of the station's own anemometer, which the
    files do not state; `humidity_percent` and `dew_point_c` are means of the day.
    """

    station_code: str
    date: dt.date
    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None
    wind_m_s: float | None = None
    dew_point_c: float | None = None
    humidity_percent: float | None = None
    humidity_min_percent: float | None = None
    humidity_max_percent: float | None = None


MEASURED: Final = DayReading._fields[2:]


@dataclass(frozen=True, slots=True)
class LineProblem:
    """Something in one line that was refused: where, what, and what cures it."""

    line_number: int
    field: str
    detail: str
    remedy: str
    excerpt: str


@dataclass(frozen=True, slots=True)
class StationSpan:
    """The days of one station that a file has something of, and the holes between them."""

    station_code: str
    first_date: dt.date
    last_date: dt.date
    days: int
    days_missing: int
    longest_gap_days: int


@dataclass
class ReadingReport:
    """What became of the lines of one file; it grows while the file is read.

    `problems` keeps the first hundred, `problem_count` counts all. `lines_passed_over` are lines
    of elements that are not carried (snow, evaporation and so on), `multiday_totals` rain of
    several days in one number, `unwanted` the values of each station that was not asked for, and
    `unwanted_values` all of those.
    """

    lines_read: int = 0
    lines_passed_over: int = 0
    values_accepted: int = 0
    values_missing: int = 0
    values_repeated: int = 0
    multiday_totals: int = 0
    unwanted_values: int = 0
    unwanted: Counter[str] = field(default_factory=Counter)
    dropped_by_flag: Counter[str] = field(default_factory=Counter)
    problems: list[LineProblem] = field(default_factory=list)
    problem_count: int = 0
    spans: list[StationSpan] = field(default_factory=list)

    def note(self, refusal: InvalidInputError, line_number: int, text: str) -> None:
        """Count a refusal, and keep it if there is room."""
        self.problem_count += 1
        if len(self.problems) < PROBLEMS_KEPT:
            self.problems.append(
                LineProblem(
                    line_number,
                    refusal.field,
                    refusal.detail,
                    refusal.remedy,
                    excerpt(text),
                )
            )

    def leave_out(self, station_code: str, values: int = 1) -> None:
        """Count values of a station that was not asked for; only so many names are kept."""
        self.unwanted_values += values
        if station_code in self.unwanted or len(self.unwanted) < STATIONS_KEPT:
            self.unwanted[station_code] += values


def excerpt(text: str) -> str:
    """Return the start of a line, fit to be shown and stored: no control characters."""
    return "".join(char if char.isprintable() else "?" for char in text.strip()[:EXCERPT_CHARS])
