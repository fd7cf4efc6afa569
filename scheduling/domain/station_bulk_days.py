"""Reading whole blocks of one-day-a-line tables at once, with quotes and attributes.

As in `station_bulk`, only what is certainly right is read here: a line with as many fields as the
header, each quoted whole or not at all, with values in range and without quality flag.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.station_bulk import BulkReader, judged
from scheduling.domain.station_checks import Scale, ValueCheck
from scheduling.domain.station_columns import (
    BLANK,
    CODE_CHARS,
    COMMA,
    MINUS,
    MISSING,
    QUOTE,
    RETURN,
    Bytes,
    Mask,
    Numbers,
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
from scheduling.domain.station_layouts import ATTRIBUTE_PARTS, FIRST_YEAR, NETWORK, DayTable
from scheduling.domain.station_tables import ELEMENT_PLACE, MILLI_PER_UNIT, ValueTable
from scheduling.domain.station_values import ReadingReport

Floats = NDArray[np.float64]

_LONGEST_LINE: Final = 8000
_DATE_CHARS: Final = 10
_VALUE_CHARS: Final = 8
_MOST_DIGITS: Final = 6
_HYPHENS: Final = [4, 7]
_TIE: Final = 1e-6
"""So near to the half of a thousandth the careful reader rounds, in decimals."""


@dataclass(frozen=True)
class _Fields:
    """The regular lines of a block: in each row the fields of one, without their quotes."""

    buffer: Bytes
    rows: Numbers
    starts: Numbers
    ends: Numbers
    commas: Numbers
    """Of the whole block, those inside of quotes too."""

    def column(self, place: int) -> tuple[Numbers, Numbers]:
        """Return where the fields of a column begin and how long they are."""
        return self.starts[:, place], self.ends[:, place] - self.starts[:, place]


@dataclass(frozen=True)
class _Amounts:
    """What the fields of some columns say, a row for each line and a column for each element."""

    number: Floats
    is_missing: Mask
    is_number: Mask
    flag: Numbers


class DayTableReader:
    """Reads blocks of lines below the header of one file."""

    def __init__(
        self, table: DayTable, scale: Scale, *, bulk: BulkReader, check: ValueCheck,
        report: ReadingReport,
    ) -> None:  # fmt: skip
        self._table, self._bulk, self._check, self._report = table, bulk, check, report
        self._is_decimal = scale.is_decimal
        units = [scale.units[code] for code in ELEMENTS]
        self._scale = np.array([unit.scale for unit in units])
        self._offset = np.array([unit.offset for unit in units])
        self._is_temperature = np.array([check.is_temperature(code) for code in ELEMENTS])
        self._element = np.array([ELEMENT_PLACE[code] for code, _, _ in table.elements])

    def day_lines(self, block: bytes, lines_before: int) -> tuple[ValueTable, list[int]]:
        """Read days, as `BulkReader.element_lines` reads its lines."""
        fields, lines = _fields(block, self._table.columns)
        is_station, codes = _stations(fields, self._table.station)
        is_date, year, day_of_year = _dates(fields, self._table.date)
        amounts = self._amounts(fields)
        element = np.broadcast_to(self._element, amounts.is_missing.shape)
        is_plain, milli = self._thousandths(element, amounts)
        is_fine, milli = judged(element, milli, amounts.is_missing, amounts.flag)
        is_fine &= is_plain & (amounts.is_missing | self._bulk.is_over(year, day_of_year)[:, None])
        is_good = is_station & is_date & is_fine.all(axis=1)
        place = self._bulk.places(codes, is_good, np.full(len(codes), len(self._element)))
        is_here = (is_good & (place >= 0))[:, None]
        taken = is_here & ~amounts.is_missing
        self._count(element, amounts, milli, taken)
        self._report.values_missing += int((is_here & amounts.is_missing).sum())
        line, _ = np.nonzero(taken)
        values = np.stack(
            [
                fields.rows[line] + lines_before + 1, place[line], year[line], day_of_year[line],
                element[taken], milli[taken],
            ]
        )  # fmt: skip
        return values, lines_left(lines, fields.rows[is_good])

    def _amounts(self, fields: _Fields) -> _Amounts:
        """Read the values and attributes of all elements."""
        shape = len(fields.rows), len(self._element)
        value, is_missing = np.zeros(shape), np.zeros(shape, dtype=bool)
        is_number, flag = np.zeros(shape, dtype=bool), np.full(shape, BLANK)
        for n, (_, column, attributes) in enumerate(self._table.elements):
            value[:, n], is_missing[:, n], is_number[:, n] = self._values(fields, column)
            if attributes is not None:
                flag[:, n], is_passed = _flags(fields, attributes)
                is_number[:, n] &= is_passed
        return _Amounts(value, is_missing, is_number, flag)

    def _values(self, fields: _Fields, column: int) -> tuple[Floats, Mask, Mask]:
        """Return numbers, which of them are missing, and which fields are a number or empty."""
        starts, sizes = fields.column(column)
        ends = starts + sizes
        # A field shorter than the window has the end of others in it, which is blanked.
        chars = windows(fields.buffer, np.maximum(ends - _VALUE_CHARS, 0), _VALUE_CHARS)
        is_own = np.arange(_VALUE_CHARS) >= _VALUE_CHARS - sizes[:, None]
        chars = np.where(is_own, chars, BLANK).astype(np.uint8)
        digits, decimals, is_number = amounts_right_aligned(chars)
        if not self._is_decimal:
            is_number &= decimals == 0
            is_number &= ((chars != BLANK) & (chars != MINUS)).sum(axis=1) <= _MOST_DIGITS
        is_empty = (chars == BLANK).all(axis=1)
        is_number = (is_number | is_empty) & (sizes <= _VALUE_CHARS)
        # Both are whole numbers below 2**53: the quotient is the float that the text names.
        value = digits / 10.0**decimals
        return value, is_empty | (value == MISSING), is_number & (ends >= _VALUE_CHARS)

    def _thousandths(self, element: Numbers, amounts: _Amounts) -> tuple[Mask, Numbers]:
        """Return which amounts are beyond doubt, and all in thousandths of the canonical unit."""
        canonical = amounts.number * self._scale[element] + self._offset[element]
        milli = canonical * MILLI_PER_UNIT
        is_tie = abs(milli - np.floor(milli) - 0.5) < _TIE
        is_plain = amounts.is_number & (amounts.is_missing | ~is_tie)
        return is_plain, np.rint(milli).astype(np.int64)

    def _count(self, element: Numbers, amounts: _Amounts, milli: Numbers, taken: Mask) -> None:
        """Tell the check what it must know to doubt the units."""
        self._report.values_accepted += int(taken.sum())
        told = taken & self._is_temperature[element]
        if self._is_decimal and told.any():
            fractions = int((amounts.number[told] % 1 != 0).sum())
            self._check.remember(int(milli[told].max()) / MILLI_PER_UNIT, fractions=fractions)


def _fields(block: bytes, columns: int) -> tuple[_Fields, int]:
    """Find the fields of the regular lines; also return how many lines there are."""
    buffer, starts, ends = lines_of(block)
    ends = ends - (buffer[ends - 1] == RETURN)
    commas, quotes = np.flatnonzero(buffer == COMMA), np.flatnonzero(buffer == QUOTE)
    between = commas[_is_outside(quotes, commas, starts, ends)]
    first = np.searchsorted(between, starts)
    is_regular = np.diff(first, append=len(between)) == columns - 1
    is_regular &= ends - starts <= _LONGEST_LINE
    returns = np.flatnonzero(buffer == RETURN)
    is_regular &= np.searchsorted(returns, starts) == np.searchsorted(returns, ends)
    rows = np.flatnonzero(is_regular)
    cuts = between[first[rows][:, None] + np.arange(columns - 1)]
    starts = np.column_stack([starts[rows], cuts + 1])
    stops = np.column_stack([cuts, ends[rows]])
    is_sound, is_quoted = _quoting(buffer, quotes, starts, stops)
    starts, stops = (starts + is_quoted)[is_sound], (stops - is_quoted)[is_sound]
    return _Fields(buffer, rows[is_sound], starts, stops, commas), len(ends)


def _is_outside(quotes: Numbers, commas: Numbers, starts: Numbers, ends: Numbers) -> Mask:
    """Tell which commas have an even number of quotes before them in their line."""
    line = np.searchsorted(ends, commas)
    inside = np.searchsorted(quotes, commas) - np.searchsorted(quotes, starts)[line]
    is_outside: Mask = inside % 2 == 0
    return is_outside


def _quoting(buffer: Bytes, quotes: Numbers, starts: Numbers, ends: Numbers) -> tuple[Mask, Mask]:
    """Return the lines whose fields are quoted whole or not at all, and which fields are."""
    held = np.searchsorted(quotes, ends) - np.searchsorted(quotes, starts)
    is_quoted = (held == 2) & (buffer[starts] == QUOTE) & (buffer[ends - 1] == QUOTE)
    is_sound: Mask = ((held == 0) | is_quoted).all(axis=1)
    return is_sound, is_quoted


def _stations(fields: _Fields, column: int) -> tuple[Mask, Numbers]:
    """Return which fields are a station code, and the codes; a network before them is left out."""
    starts, sizes = fields.column(column)
    network = np.frombuffer(NETWORK.encode(), dtype=np.uint8)
    has_network = (windows(fields.buffer, starts, len(network)) == network).all(axis=1)
    skipped = np.where(has_network, len(network), 0)
    text = windows(fields.buffer, starts + skipped, CODE_CHARS)
    return is_code(text) & (sizes - skipped == CODE_CHARS), codes_of(text)


def _dates(fields: _Fields, column: int) -> tuple[Mask, Numbers, Numbers]:
    """Return which fields are YYYY-MM-DD or YYYYMMDD, the years, and the days of the years."""
    starts, sizes = fields.column(column)
    text = windows(fields.buffer, starts, _DATE_CHARS)
    has_hyphens = (text[:, _HYPHENS] == MINUS).all(axis=1)
    is_date = sizes == np.where(has_hyphens, _DATE_CHARS, _DATE_CHARS - len(_HYPHENS))
    without = np.where(has_hyphens[:, None], np.delete(text, _HYPHENS, axis=1), text[:, :8])
    year, month, day = number(without[:, :4]), number(without[:, 4:6]), number(without[:, 6:])
    is_date &= (year >= FIRST_YEAR) & (month >= 1) & (month <= 12) & (day >= 1)
    month = np.clip(month, 1, 12)
    is_date &= day <= month_days(year, month)
    return is_date, year, days_before(year, month) + day - 1


def _flags(fields: _Fields, column: int) -> tuple[Numbers, Mask]:
    """Return the measurement flags, and where attributes are regular without a quality flag."""
    starts, sizes = fields.column(column)
    first, second, third = windows(fields.buffer, starts, 3).T
    flag_chars = np.where((sizes == 0) | (first == COMMA), 0, 1)
    after = np.where(flag_chars == 0, first, second)  # the comma before the quality flag
    then = np.where(flag_chars == 0, second, third)
    left = sizes - flag_chars
    is_passed = (left == 0) | ((after == COMMA) & ((left == 1) | (then == COMMA)))
    inside = np.searchsorted(fields.commas, starts + sizes) - np.searchsorted(fields.commas, starts)
    is_passed &= inside < ATTRIBUTE_PARTS
    return np.where(flag_chars == 0, BLANK, first), is_passed
