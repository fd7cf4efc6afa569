"""The words for what a daily weather station file holds, and what is told about reading it."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final, Literal, NamedTuple

from properties.domain.errors import InvalidInputError

Units = Literal["metric", "standard"]
Code = Literal["TMAX", "TMIN", "PRCP", "AWND"]

PROBLEMS_KEPT: Final = 100
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
    files do not state.
    """

    station_code: str
    date: dt.date
    tmin_c: float | None = None
    tmax_c: float | None = None
    rain_mm: float | None = None
    wind_m_s: float | None = None


@dataclass(frozen=True, slots=True)
class LineProblem:
    """Something in one line that was refused: where, what, and what cures it."""

    line_number: int
    field: str
    detail: str
    remedy: str
    excerpt: str


@dataclass
class ReadingReport:
    """What became of the lines of one file; it grows while the file is read.

    `problems` keeps the first hundred, `problem_count` counts all. `lines_passed_over` are lines
    of elements that are not carried (snow, evaporation and so on).
    """

    lines_read: int = 0
    lines_passed_over: int = 0
    values_accepted: int = 0
    values_missing: int = 0
    values_repeated: int = 0
    dropped_by_flag: Counter[str] = field(default_factory=Counter)
    problems: list[LineProblem] = field(default_factory=list)
    problem_count: int = 0

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


def excerpt(text: str) -> str:
    """Return the start of a line, fit to be shown and stored: no control characters."""
    return "".join(char if char.isprintable() else "?" for char in text.strip()[:EXCERPT_CHARS])
