"""Reading whole blocks of element lines and month lines at once, as arrays of bytes.

Only what is certainly right is read here: a line of the regular shape with values in range and
without quality flag. Every other line is left to the careful reader of single lines, which knows
what to say about it; `station_files` puts both together again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from scheduling.domain.station_checks import HIGHEST, LOWEST, MULTIDAY, TENTHS, TRACE
from scheduling.domain.station_columns import (
    BLANK,
    CODE_CHARS,
    COMMA,
    MISSING,
    QUOTE,
    RETURN,
    Bytes,
    Mask,
    Numbers,
    amounts_of_size,
    amounts_right_aligned,
    codes_of,
    days_before,
    is_code,
    lines_left,
    lines_of,
    month_days,
    number,
    windows,
)
from scheduling.domain.station_days import ELEMENTS
from scheduling.domain.station_layouts import FIRST_YEAR
from scheduling.domain.station_tables import ELEMENT_PLACE, MILLI_PER_UNIT, StationList, ValueTable
from scheduling.domain.station_values import ReadingReport

BlockReader = Callable[[bytes, int], tuple[ValueTable, list[int]]]

_NOT_ASCII: Final = 128
_DIGITS: Final = 5
_KEY_CHARS: Final = 26  # "station,YYYYMMDD,element,"
_COMMAS: Final = 7
_LONGEST_LINE: Final = 200  # a regular line has 50
_MONTH_CHARS: Final = 269
_MONTH_KEY_CHARS: Final = 21
_DAYS: Final = 31
_OTHER, _NO_ELEMENT = -1, -2

_MILLI: Final = np.array([round(TENTHS.units[code].scale * MILLI_PER_UNIT) for code in ELEMENTS])
_LOW: Final = np.array([round(LOWEST[code] * MILLI_PER_UNIT) for code in ELEMENTS])
_HIGH: Final = np.array([round(HIGHEST[code] * MILLI_PER_UNIT) for code in ELEMENTS])
_RAIN: Final = ELEMENT_PLACE["PRCP"]


@dataclass(frozen=True)
class _Keys:
    """What the first columns of lines say; `is_sound` where they are a station and a month."""

    is_sound: Mask
    codes: Any
    year: Numbers
    month: Numbers
    element: Numbers
    """The place of the element, _OTHER where it is not carried, _NO_ELEMENT where it is none."""


class BulkReader:
    """Reads blocks of whole lines of one file; what it counts goes into the report."""

    def __init__(
        self, stations: StationList, report: ReadingReport, last_date: dt.date | None
    ) -> None:
        self._stations = stations
        self._report = report
        last = last_date or dt.date.max
        self._last_day = last.year * 366 + (last - dt.date(last.year, 1, 1)).days

    def element_lines(self, block: bytes, lines_before: int) -> tuple[ValueTable, list[int]]:
        """Read `station,YYYYMMDD,element,value,flag,flag,source,time`.

        Parameters
        ----------
        block : whole lines, each with its line end.
        lines_before : lines of the file before this block.

        Returns
        -------
        The values, and the places in the block of the lines that are left.
        """
        buffer, starts, ends = lines_of(block)
        rows, commas = _rows_of_eight_fields(buffer, block, starts, ends)
        keys = _keys(windows(buffer, starts[rows], _KEY_CHARS), month_at=12, element_at=21)
        day = number(windows(buffer, starts[rows] + 18, 2))
        keys.is_sound[(day < 1) | (day > month_days(keys.year, keys.month))] = False
        size = commas[:, 3] - commas[:, 2] - 1
        amount, is_number = amounts_of_size(
            windows(buffer, commas[:, 2] + 1, _DIGITS + 1), size, _DIGITS
        )
        flag = np.where(commas[:, 4] - commas[:, 3] == 2, buffer[commas[:, 3] + 1], BLANK)

        is_missing = amount == MISSING
        is_other = _is_element_elsewhere(keys)
        is_good, milli = judged(keys.element, amount * _MILLI[keys.element], is_missing, flag)
        is_good &= is_number & keys.is_sound & ~is_other
        day_of_year = days_before(keys.year, keys.month) + day - 1
        is_good &= is_missing | self.is_over(keys.year, day_of_year)
        place = self.places(keys.codes, is_good)
        taken = is_good & (place >= 0) & ~is_missing
        self._report.lines_passed_over += int(is_other.sum())
        self._report.values_missing += int((is_good & (place >= 0) & is_missing).sum())
        self._report.values_accepted += int(taken.sum())
        table = np.stack(
            [rows + lines_before + 1, place, keys.year, day_of_year, keys.element, milli]
        )[:, taken]
        return table, lines_left(len(starts), rows[is_good | is_other])

    def month_lines(self, block: bytes, lines_before: int) -> tuple[ValueTable, list[int]]:
        """Read fixed-width months, as `element_lines` reads its lines."""
        buffer, starts, ends = lines_of(block)
        ends = ends - (buffer[ends - 1] == RETURN)
        rows = np.flatnonzero(ends - starts == _MONTH_CHARS)
        text = windows(buffer, starts[rows], _MONTH_CHARS)
        keys = _keys(text, month_at=11, element_at=17)
        cells = text[:, _MONTH_KEY_CHARS:].reshape(-1, _DAYS, 8)
        amount, decimals, is_number = amounts_right_aligned(cells[:, :, :_DIGITS])
        is_missing = amount == MISSING
        element = np.broadcast_to(keys.element[:, None], amount.shape)
        is_fine, milli = judged(element, amount * _MILLI[element], is_missing, cells[:, :, 5])
        is_fine &= is_number & (decimals == 0) & (cells[:, :, 6] == BLANK)
        keys.is_sound[(text >= _NOT_ASCII).any(axis=1)] = False

        day = np.arange(_DAYS)
        is_day = day < month_days(keys.year, keys.month)[:, None]
        day_of_year = days_before(keys.year, keys.month)[:, None] + day
        is_fine &= is_missing | self.is_over(keys.year[:, None], day_of_year)
        is_other = _is_element_elsewhere(keys)
        is_good = keys.is_sound & ~is_other & np.where(is_day, is_fine, is_missing).all(axis=1)
        place = self.places(keys.codes, is_good, values=is_day.sum(axis=1))
        is_good_here = is_good & (place >= 0)
        taken = is_good_here[:, None] & is_day & ~is_missing
        self._report.lines_passed_over += int(is_other.sum())
        self._report.values_missing += int((is_good_here[:, None] & is_day & is_missing).sum())
        self._report.values_accepted += int(taken.sum())
        line, of_day = np.nonzero(taken)
        table = np.stack(
            [
                rows[line] + lines_before + 1, place[line], keys.year[line],
                day_of_year[line, of_day], keys.element[line], milli[taken],
            ]
        )  # fmt: skip
        return table, lines_left(len(starts), rows[is_good | is_other])

    def is_over(self, year: Numbers, day_of_year: Numbers) -> Mask:
        """Tell the days on which something can have been measured."""
        is_over: Mask = year * 366 + day_of_year <= self._last_day
        return is_over

    def places(self, codes: Any, is_good: Mask, values: Numbers | None = None) -> Numbers:
        """Return the stations' places, and count what is of stations that nobody asked for.

        Parameters
        ----------
        codes : the station of each line.
        is_good : the lines to look at; others get -1.
        values : how many each line has, missing ones included; one if None.
        """
        place = np.full(len(codes), -1, dtype=np.int64)
        good = np.flatnonzero(is_good)
        of_good = codes[good]
        is_start = np.ones(len(good), dtype=bool)
        is_start[1:] = of_good[1:] != of_good[:-1]
        starts = np.flatnonzero(is_start)
        sizes = np.diff(starts, append=len(good))
        names = [code.decode("ascii") for code in of_good[starts].tolist()]
        found = np.array([self._stations.place(name) for name in names], dtype=np.int64)
        place[good] = np.repeat(found, sizes)
        weights = np.ones(len(codes), dtype=np.int64) if values is None else values
        for run in np.flatnonzero(found < 0).tolist():
            of_run = good[starts[run] : starts[run] + sizes[run]]
            self._report.leave_out(names[run], int(weights[of_run].sum()))
        return place


def judged(element: Numbers, milli: Numbers, is_missing: Mask, flag: Any) -> tuple[Mask, Numbers]:
    """Return which thousandths may be taken or are missing, and all with traces of rain as zero."""
    is_rain = element == _RAIN
    is_fine = is_missing | ((milli >= _LOW[element]) & (milli <= _HIGH[element]))
    is_fine &= ~is_rain | (flag != ord(MULTIDAY))
    return is_fine, np.where(is_rain & (flag == ord(TRACE)), 0, milli)


def _rows_of_eight_fields(
    buffer: Bytes, block: bytes, starts: Numbers, ends: Numbers
) -> tuple[Numbers, Numbers]:
    """Return the lines of regular shape and the places of their seven commas."""
    commas = np.flatnonzero(buffer == COMMA)
    first = np.searchsorted(commas, starts)
    is_regular = np.diff(first, append=len(commas)) == _COMMAS
    is_regular &= ends - starts <= _LONGEST_LINE
    if b'"' in block:
        quotes = np.flatnonzero(buffer == QUOTE)
        is_regular[np.searchsorted(ends, quotes)] = False
    rows = np.flatnonzero(is_regular)
    places = commas[first[rows][:, None] + np.arange(_COMMAS)]
    gaps = np.diff(places, axis=1)
    is_regular = (places[:, 0] - starts[rows] == 11) & (gaps[:, 0] == 9) & (gaps[:, 1] == 5)
    is_regular &= (gaps[:, 2] >= 2) & (gaps[:, 2] <= _DIGITS + 2)
    is_regular &= (gaps[:, 3] <= 2) & (gaps[:, 4] == 1)
    return rows[is_regular], places[is_regular]


def _keys(text: Bytes, *, month_at: int, element_at: int) -> _Keys:
    """Read station, year, month and element out of the first columns of lines."""
    code, element = text[:, :CODE_CHARS], text[:, element_at : element_at + 4]
    year = number(text[:, month_at : month_at + 4])
    month = number(text[:, month_at + 4 : month_at + 6])
    is_sound = is_code(code) & (year >= FIRST_YEAR)
    is_sound &= (month >= 1) & (month <= 12)
    place = np.full(len(text), _OTHER, dtype=np.int64)
    words = np.ascontiguousarray(element).view("S4").reshape(-1)
    for name, at in ELEMENT_PLACE.items():
        place[words == name.encode()] = at
    place[~is_code(element)] = _NO_ELEMENT
    return _Keys(is_sound, codes_of(code), year, np.clip(month, 1, 12), place)


def _is_element_elsewhere(keys: _Keys) -> Mask:
    """Tell the lines of elements that are not carried, and mark what is no element as unsound."""
    keys.is_sound[keys.element == _NO_ELEMENT] = False
    is_other: Mask = keys.element == _OTHER
    return is_other
