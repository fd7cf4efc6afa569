"""From one line of a station file to its cells: one reader for each public layout.

References
----------
NOAA/NCEI, Global Historical Climatology Network daily: readme.txt section III (the .dly files),
readme-by_station.txt (element lines). The attributes columns "measurement,quality,source[,time]" of
the day tables are from memory.
"""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, get_args

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_values import Cell, Code, Layout, excerpt

LineReader = Callable[[str], list[Cell]]

ELEMENTS: Final[dict[str, Code]] = {code: code for code in get_args(Code)}
MISSING_TEXT: Final = "-9999"
FIRST_YEAR: Final = 1750  # the longest daily series begin soon after (from memory)

_ELEMENT_LINE_FIELDS: Final = 8
_ELEMENT_LINE_HEADER: Final = ("ID", "DATE", "ELEMENT")
ATTRIBUTE_PARTS: Final = 4
NETWORK: Final = "GHCND:"
"""What an older order writes before a station code."""

_DLY_FIRST_CELL: Final = 21
_DLY_CELL: Final = 8
_DLY_CHARS: Final = _DLY_FIRST_CELL + 31 * _DLY_CELL
_DLY_FLAG_CHARS: Final = 3

_STATION_CODE = re.compile(r"[A-Z0-9]{11}")
_ELEMENT_CODE = re.compile(r"[A-Z0-9]{4}")
_DATE = re.compile(r"(\d{4})(-?)(\d\d)\2(\d\d)", re.ASCII)
_DLY_START = re.compile(r"[A-Z0-9]{11}\d{6}[A-Z0-9]{4}[ \d-]", re.ASCII)


def detect_layout(first_line: str) -> Layout:
    """Return the layout which the first line of a file shows.

    An ordered file that carries latitude and attributes columns looks much like an access file; it
    is told apart by its station name standing before the date.

    Raises
    ------
    InvalidInputError
        When the line belongs to none of the layouts.
    """
    if _DLY_START.match(first_line):
        return Layout.DLY
    fields = _fields(first_line)
    if {"STATION", "DATE"} <= set(fields):
        is_access = fields[:3] == ["STATION", "DATE", "LATITUDE"]
        has_attributes = any(name.endswith("_ATTRIBUTES") for name in fields)
        return Layout.ACCESS if is_access and has_attributes else Layout.DAILY_SUMMARIES
    if len(fields) == _ELEMENT_LINE_FIELDS and (
        _is_element_line_header(fields) or _DATE.fullmatch(fields[1])
    ):
        return Layout.BY_STATION
    raise InvalidInputError(
        f"The first line, '{excerpt(first_line)}', belongs to no known station layout.",
        field="layout", code="unknown-layout",
        remedy=f"Send a file in one of these layouts, or name it: {', '.join(Layout)}.",
    )  # fmt: skip


def element_line_cells(line: str) -> list[Cell]:
    """Read `station,YYYYMMDD,element,value,flag,flag,source,time`."""
    fields = _fields(line)
    if len(fields) != _ELEMENT_LINE_FIELDS:
        raise _wrong_field_count(len(fields), _ELEMENT_LINE_FIELDS)
    station, day_text, element, text, measurement_flag, quality_flag, _, _ = fields
    code = ELEMENTS.get(element)
    if code is None:
        if not _is_element_line_header(fields):
            _check_element(element)
        return []
    day = calendar_date(day_text)
    return [(station_code(station), day, code, text.strip(), measurement_flag, quality_flag)]


@dataclass(frozen=True)
class DayTable:
    """Where the columns of a one-day-a-line file stand; made from its header, read by name."""

    columns: int
    station: int
    date: int
    elements: tuple[tuple[Code, int, int | None], ...]
    """Element, the column of its value, the column of its attributes if there is one."""

    @classmethod
    def from_header(cls, header: str) -> DayTable:
        """Find the columns, or refuse the file."""
        names = _fields(header)
        _check_header(names)
        places = {name: place for place, name in enumerate(names)}
        elements = tuple(
            (code, places[code], places.get(f"{code}_ATTRIBUTES"))
            for code in get_args(Code)
            if code in places
        )
        return cls(len(names), places["STATION"], places["DATE"], elements)

    def cells(self, line: str) -> list[Cell]:
        """Read the elements of one day; an empty value is a missing one."""
        fields = _fields(line)
        if len(fields) != self.columns:
            raise _wrong_field_count(len(fields), self.columns)
        station = station_code(fields[self.station].removeprefix(NETWORK))
        day = calendar_date(fields[self.date])
        return [
            (station, day, code, fields[value].strip() or MISSING_TEXT, *_flags(fields, flags))
            for code, value, flags in self.elements
        ]


def month_line_cells(line: str) -> list[Cell]:
    """Read one element of one month: 21 columns of keys, then 31 cells of 8 columns."""
    # An editor that trims blanks may have eaten the flags of the last day, never its value.
    body = line.rstrip()
    if not _DLY_CHARS - _DLY_FLAG_CHARS <= len(body) <= _DLY_CHARS:
        raise InvalidInputError(
            f"The line has {len(body)} characters where a month has {_DLY_CHARS}.",
            field="line", remedy="Take the line from the original file.",
        )  # fmt: skip
    body = body.ljust(_DLY_CHARS)
    element = ELEMENTS.get(body[17:_DLY_FIRST_CELL])
    if element is None:
        _check_element(body[17:_DLY_FIRST_CELL])
        return []
    station = station_code(body[:11])
    first_day = calendar_date(f"{body[11:17]}01")
    return _month_cells(body, station, first_day, element)


# Most lines of a file name the same few thousand days, and the same objects spare memory.
@lru_cache(maxsize=65536)
def calendar_date(text: str) -> dt.date:
    """Return the day written as YYYYMMDD or YYYY-MM-DD."""
    parts = _DATE.fullmatch(text.strip())
    try:
        if parts and int(parts[1]) >= FIRST_YEAR:
            return dt.date(int(parts[1]), int(parts[3]), int(parts[4]))
    except ValueError:
        pass  # the thirtieth of February: refused below like any other
    raise InvalidInputError(
        f"'{excerpt(text)}' cannot be read as a day of the calendar.",
        field="date", remedy=f"Write the day as YYYY-MM-DD or YYYYMMDD, {FIRST_YEAR} or later.",
    )  # fmt: skip


@lru_cache(maxsize=1024)
def station_code(text: str) -> str:
    """Return the station's code if it has the shape of one."""
    code = text.strip()
    if not _STATION_CODE.fullmatch(code):
        raise InvalidInputError(
            f"'{excerpt(text)}' is not a station code.",
            field="station", remedy="A station code has 11 capital letters and digits.",
        )  # fmt: skip
    return code


def _month_cells(body: str, station: str, first_day: dt.date, element: Code) -> list[Cell]:
    cells: list[Cell] = []
    for offset in range(31):
        start = _DLY_FIRST_CELL + offset * _DLY_CELL
        text, day = (
            body[start : start + 5].strip(),
            first_day + dt.timedelta(days=offset),
        )
        if day.month == first_day.month:
            cells.append((station, day, element, text, body[start + 5], body[start + 6]))
        elif text != MISSING_TEXT:
            raise InvalidInputError(
                f"Day {offset + 1} of {first_day:%Y-%m} holds '{excerpt(text)}', but there is no "
                "such day: the columns have slipped.",
                field="date", remedy="Take the line from the original file.",
            )  # fmt: skip
    return cells


def _fields(line: str) -> list[str]:
    # A line without a quote needs no CSV reader, which would cost ten times as much.
    if '"' not in line:
        return line.strip().split(",")
    try:
        return next(csv.reader((line,), strict=True))
    except csv.Error as error:
        raise InvalidInputError(
            f"The line cannot be read as comma-separated values: {error}.",
            field="line", remedy="Close every quote and keep each record on one line.",
        ) from error  # fmt: skip


def _flags(fields: Sequence[str], place: int | None) -> tuple[str, str]:
    if place is None:
        return "", ""
    parts = fields[place].split(",")
    if len(parts) > ATTRIBUTE_PARTS:
        raise InvalidInputError(
            f"The attributes '{excerpt(fields[place])}' have {len(parts)} parts.",
            field="flag", remedy="Attributes are measurement,quality,source and perhaps a time.",
        )  # fmt: skip
    return parts[0].strip(), parts[1] if len(parts) > 1 else ""


def _is_element_line_header(fields: Sequence[str]) -> bool:
    return tuple(fields[:3]) == _ELEMENT_LINE_HEADER


def _check_header(names: Sequence[str]) -> None:
    """Refuse a table of which a column that is needed is missing or stands there twice."""
    needed = {"STATION", "DATE"}
    twice = sorted(name for name in needed | set(ELEMENTS) if names.count(name) > 1)
    if twice:
        detail = f"The header names {', '.join(twice)} more than once."
    elif not needed <= set(names):
        detail = f"The header lacks {', '.join(sorted(needed - set(names)))}."
    elif ELEMENTS.keys().isdisjoint(names):
        detail = f"The header names none of {', '.join(get_args(Code))}."
    else:
        return
    raise InvalidInputError(
        detail, field="header", code="wrong-header",
        remedy="The first line must name STATION, DATE and the elements, each once.",
    )  # fmt: skip


def _check_element(element: str) -> None:
    if not _ELEMENT_CODE.fullmatch(element):
        raise InvalidInputError(
            f"'{excerpt(element)}' is not an element code.",
            field="element", remedy="An element code has four capital letters and digits.",
        )  # fmt: skip


def _wrong_field_count(found: int, expected: int) -> InvalidInputError:
    return InvalidInputError(
        f"The line has {found} fields where {expected} belong.",
        field="line", remedy="Take the line from the original file.",
    )  # fmt: skip
