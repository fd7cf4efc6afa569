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
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from scheduling.domain.station_checks import HIGHEST, LOWEST, MULTIDAY, TENTHS, TRACE
from scheduling.domain.station_days import ELEMENTS
from scheduling.domain.station_layouts import FIRST_YEAR
from scheduling.domain.station_tables import ELEMENT_PLACE, MILLI_PER_UNIT, StationList, ValueTable
from scheduling.domain.station_values import ReadingReport

Bytes = NDArray[np.uint8]
Numbers = NDArray[np.int64]
Mask = NDArray[np.bool_]
BlockReader = Callable[[bytes, int], tuple[ValueTable, list[int]]]

_NEWLINE, _COMMA, _QUOTE, _MINUS, _BLANK, _RETURN = (ord(char) for char in '\n,"- \r')
_ZERO: Final = ord("0")
_NOT_ASCII: Final = 128
_DIGITS: Final = 5
_MISSING: Final = -9999
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
_MONTH_DAYS: Final = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
_DAYS_BEFORE: Final = np.concatenate([[0], np.cumsum(_MONTH_DAYS)])

_IS_CODE_CHAR: Final = np.zeros(256, dtype=bool)
_IS_CODE_CHAR[list(b"ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789")] = True


@dataclass(frozen=True)
class _Keys:
    """What the first columns of lines say; `is_sound` where they are a station and a month."""

    is_sound: Mask
    codes: Any
    year: Numbers
    month: Numbers
    element: Numbers
    """The place of the element, _OTHER where it is not carried, _NO_ELEMENT where it is none."""

    def month_days(self) -> Numbers:
        """Return how many days each month has."""
        days: Numbers = _MONTH_DAYS[self.month - 1] + ((self.month == 2) & _is_leap(self.year))
        return days

    def days_before(self) -> Numbers:
        """Return how many days of the year are over when each month begins."""
        days: Numbers = _DAYS_BEFORE[self.month - 1] + ((self.month > 2) & _is_leap(self.year))
        return days


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
        buffer, starts, ends = _lines(block)
        rows, commas = _rows_of_eight_fields(buffer, block, starts, ends)
        keys = _keys(_windows(buffer, starts[rows], _KEY_CHARS), month_at=12, element_at=21)
        day = _number(_windows(buffer, starts[rows] + 18, 2))
        keys.is_sound[(day < 1) | (day > keys.month_days())] = False
        size = commas[:, 3] - commas[:, 2] - 1
        amount, is_number = _amounts_of_size(_windows(buffer, commas[:, 2] + 1, _DIGITS + 1), size)
        flag = np.where(commas[:, 4] - commas[:, 3] == 2, buffer[commas[:, 3] + 1], _BLANK)

        is_other = _is_element_elsewhere(keys)
        is_good, milli = self._judge(keys, keys.element, amount, flag)
        is_good &= is_number & keys.is_sound & ~is_other
        day_of_year = keys.days_before() + day - 1
        is_missing = amount == _MISSING
        is_good &= is_missing | (keys.year * 366 + day_of_year <= self._last_day)
        place = self._places(keys.codes, is_good)
        taken = is_good & (place >= 0) & ~is_missing
        self._report.lines_passed_over += int(is_other.sum())
        self._report.values_missing += int((is_good & (place >= 0) & is_missing).sum())
        self._report.values_accepted += int(taken.sum())
        table = np.stack(
            [rows + lines_before + 1, place, keys.year, day_of_year, keys.element, milli]
        )[:, taken]
        return table, _left(len(starts), rows[is_good | is_other])

    def month_lines(self, block: bytes, lines_before: int) -> tuple[ValueTable, list[int]]:
        """Read fixed-width months, as `element_lines` reads its lines."""
        buffer, starts, ends = _lines(block)
        ends = ends - (buffer[ends - 1] == _RETURN)
        rows = np.flatnonzero(ends - starts == _MONTH_CHARS)
        text = _windows(buffer, starts[rows], _MONTH_CHARS)
        keys = _keys(text, month_at=11, element_at=17)
        cells = text[:, _MONTH_KEY_CHARS:].reshape(-1, _DAYS, 8)
        amount, is_number = _amounts_right_aligned(cells[:, :, :_DIGITS])
        element = np.broadcast_to(keys.element[:, None], amount.shape)
        is_fine, milli = self._judge(keys, element, amount, cells[:, :, 5])
        is_fine &= is_number & (cells[:, :, 6] == _BLANK)
        keys.is_sound[(text >= _NOT_ASCII).any(axis=1)] = False

        day = np.arange(_DAYS)
        is_day = day < keys.month_days()[:, None]
        is_missing = amount == _MISSING
        day_of_year = keys.days_before()[:, None] + day
        is_fine &= is_missing | (keys.year[:, None] * 366 + day_of_year <= self._last_day)
        is_other = _is_element_elsewhere(keys)
        is_good = keys.is_sound & ~is_other & np.where(is_day, is_fine, is_missing).all(axis=1)
        place = self._places(keys.codes, is_good, values=(is_day & ~is_missing).sum(axis=1))
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
        return table, _left(len(starts), rows[is_good | is_other])

    def _judge(
        self, keys: _Keys, element: Numbers, amount: Numbers, flag: Any
    ) -> tuple[Mask, Numbers]:
        """Return which amounts may be taken or are missing, and all in thousandths."""
        milli = amount * _MILLI[element]
        is_fine = (amount == _MISSING) | ((milli >= _LOW[element]) & (milli <= _HIGH[element]))
        is_rain = element == _RAIN
        is_fine &= ~is_rain | (flag != ord(MULTIDAY))
        return is_fine, np.where(is_rain & (flag == ord(TRACE)), 0, milli)

    def _places(self, codes: Any, is_good: Mask, values: Numbers | None = None) -> Numbers:
        """Return the stations' places, and count what is of stations that nobody asked for."""
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


def _lines(block: bytes) -> tuple[Bytes, Numbers, Numbers]:
    """Return the bytes with room behind them, and where lines begin and end."""
    buffer = np.frombuffer(block + bytes(_MONTH_CHARS), dtype=np.uint8)
    ends = np.flatnonzero(buffer == _NEWLINE)
    return buffer, np.concatenate([[0], ends[:-1] + 1]), ends


def _rows_of_eight_fields(
    buffer: Bytes, block: bytes, starts: Numbers, ends: Numbers
) -> tuple[Numbers, Numbers]:
    """Return the lines of regular shape and the places of their seven commas."""
    commas = np.flatnonzero(buffer == _COMMA)
    first = np.searchsorted(commas, starts)
    is_regular = np.diff(first, append=len(commas)) == _COMMAS
    is_regular &= ends - starts <= _LONGEST_LINE
    if b'"' in block:
        quotes = np.flatnonzero(buffer == _QUOTE)
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
    code, element = text[:, :11], text[:, element_at : element_at + 4]
    year = _number(text[:, month_at : month_at + 4])
    month = _number(text[:, month_at + 4 : month_at + 6])
    is_sound = _IS_CODE_CHAR[code].all(axis=1) & (year >= FIRST_YEAR)
    is_sound &= (month >= 1) & (month <= 12)
    place = np.full(len(text), _OTHER, dtype=np.int64)
    words = np.ascontiguousarray(element).view("S4").reshape(-1)
    for name, number in ELEMENT_PLACE.items():
        place[words == name.encode()] = number
    place[~_IS_CODE_CHAR[element].all(axis=1)] = _NO_ELEMENT
    codes = np.ascontiguousarray(code).view("S11").reshape(-1)
    return _Keys(is_sound, codes, year, np.clip(month, 1, 12), place)


def _is_element_elsewhere(keys: _Keys) -> Mask:
    """Tell the lines of elements that are not carried, and mark what is no element as unsound."""
    keys.is_sound[keys.element == _NO_ELEMENT] = False
    is_other: Mask = keys.element == _OTHER
    return is_other


def _windows(buffer: Bytes, starts: Numbers, size: int) -> Bytes:
    windows: Bytes = sliding_window_view(buffer, size)[starts]
    return windows


def _number(text: Bytes) -> Numbers:
    """Return the whole number that columns of digits write, or -1 where one is no digit."""
    digits = text.astype(np.int64) - _ZERO
    value = digits @ (10 ** np.arange(text.shape[1])[::-1])
    return np.where(((digits < 0) | (digits > 9)).any(axis=1), -1, value)


def _amounts_of_size(text: Bytes, size: Numbers) -> tuple[Numbers, Mask]:
    """Read numbers that stand at the left, `size` characters long; also return where they do."""
    value = np.zeros(len(text), dtype=np.int64)
    is_negative = text[:, 0] == _MINUS
    digits = size - is_negative
    is_number = (digits >= 1) & (digits <= _DIGITS)
    for column in range(text.shape[1]):
        digit = text[:, column].astype(np.int64) - _ZERO
        is_used = (column < size) & ~(is_negative & (column == 0))
        is_number &= ~is_used | ((digit >= 0) & (digit <= 9))
        value = np.where(is_used, value * 10 + digit, value)
    return np.where(is_negative, -value, value), is_number


def _amounts_right_aligned(text: Bytes) -> tuple[Numbers, Mask]:
    """Read numbers that stand at the right of their columns; also return where they do."""
    shape = text.shape[:-1]
    value = np.zeros(shape, dtype=np.int64)
    is_negative, is_begun = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    is_number = np.ones(shape, dtype=bool)
    for column in range(text.shape[-1]):
        char = text[..., column]
        digit = char.astype(np.int64) - _ZERO
        is_digit = (digit >= 0) & (digit <= 9)
        is_minus = (char == _MINUS) & ~is_begun
        is_number &= is_digit | is_minus | ((char == _BLANK) & ~is_begun)
        is_negative |= is_minus
        is_begun |= is_digit | is_minus
        value = np.where(is_digit, value * 10 + digit, value)
    is_number &= is_digit
    return np.where(is_negative, -value, value), is_number


def _is_leap(year: Numbers) -> Mask:
    is_leap: Mask = ((year % 4 == 0) & (year % 100 != 0)) | (year % 400 == 0)
    return is_leap


def _left(count: int, read: Numbers) -> list[int]:
    is_left = np.ones(count, dtype=bool)
    is_left[read] = False
    return np.flatnonzero(is_left).tolist()
