"""From single values in any order to days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final, get_args

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.station_gaps import DaysSeen
from scheduling.domain.station_tables import (
    DAY,
    DAYS_OF_YEAR,
    ELEMENT,
    ELEMENT_PLACE,
    LINE,
    MILLI,
    MILLI_PER_UNIT,
    STATION,
    YEAR,
    ValueTable,
)
from scheduling.domain.station_values import Code, DayReading, ReadingReport

OPEN_YEARS: Final = 2000
"""How many years of a station are held at once, 23 kB each: 40 stations of 50 years."""

ELEMENTS: Final[tuple[Code, ...]] = get_args(Code)
_WIDTH: Final = len(ELEMENTS)
_YEARS: Final = 10_000  # a key is place of the station x this + year

_Numbers = NDArray[np.int64]


@dataclass(frozen=True)
class Contradiction:
    """Two elements of which the first cannot be above the second, and those then not kept."""

    low: Code
    high: Code
    lost: tuple[Code, ...]
    words: str


CONTRADICTIONS: Final = (
    Contradiction(
        "TMIN", "TMAX", ("TMIN", "TMAX"),
        "the highest temperature, {high:g} degC, is below the lowest, {low:g} degC; neither is"
        " kept.",
    ),
    Contradiction(
        "RHMN", "RHMX", ("RHMN", "RHMX"),
        "the highest humidity, {high:g} %, is below the lowest, {low:g} %; neither is kept.",
    ),
    Contradiction(
        "ADPT", "TMAX", ("ADPT",),
        "the highest temperature, {high:g} degC, is below the mean dew point, {low:g} degC, which"
        " is not kept.",
    ),
)  # fmt: skip


@dataclass(frozen=True)
class DayBatch:
    """Some days of one station: dates, and a row of amounts for each in the order of `Code`.

    Amounts are in degC, mm, m/s and percent; NaN where the file has nothing that can be trusted.
    """

    station_code: str
    dates: NDArray[np.datetime64]
    amounts: NDArray[np.float64]

    def readings(self) -> Iterator[DayReading]:
        """Yield the days one by one."""
        dates: list[dt.date] = self.dates.tolist()
        amounts = self.amounts.astype(object)
        amounts[np.isnan(self.amounts)] = None
        for date, row in zip(dates, amounts.tolist(), strict=True):
            yield DayReading(self.station_code, date, *row)


class DayFold:
    """Gathers the values of each station and day, whatever their order, in bounded memory.

    The procedure:

    1. A value joins its day, in a block that holds one year of one station. If the day already has
       that element, the first one stays: a repetition of the same value is counted, another value
       is reported.
    2. When more than `open_years` blocks would be open, the older half of them (by their first
       line) is closed and yielded; at the end the rest.
    3. A block that is closed loses what contradicts itself (`CONTRADICTIONS`), which is reported
       by the later of the two lines; the other values of the day stay.

    A file of one station is thus folded whole, grouped by element or by day; so is a file of a
    year of as many stations. If the lines of one day stand still farther apart, that day comes out
    more than once, each time with what was seen: whoever stores it must merge by value, and see to
    the contradictions again.
    """

    def __init__(
        self, report: ReadingReport, codes: Sequence[str], *, open_years: int = OPEN_YEARS
    ) -> None:
        self._report = report
        self._codes = codes
        self._free = list(range(max(open_years, 2)))
        self._open: dict[int, int] = {}
        shape = len(self._free), DAYS_OF_YEAR, _WIDTH
        # Both are zeros that the system hands out page by page as blocks are opened.
        self._milli = np.zeros(shape, dtype=np.int32)
        self._lines = np.zeros(shape, dtype=np.int32)
        self._seen = DaysSeen()

    def add(self, values: ValueTable) -> Iterator[DayBatch]:
        """Take values in, and yield the days that had to be closed to make room for them."""
        keys, group = np.unique(values[STATION] * _YEARS + values[YEAR], return_inverse=True)
        if keys.size > len(self._milli) // 2:
            middle = values.shape[1] // 2
            yield from self.add(values[:, :middle])
            yield from self.add(values[:, middle:])
            return
        yield from self._make_room(keys.tolist())
        slots = np.array([self._slot(key) for key in keys.tolist()], dtype=np.int64)
        days = slots[group] * DAYS_OF_YEAR + values[DAY] if keys.size else values[DAY]
        self._take(days * _WIDTH + values[ELEMENT], values)

    def close(self) -> Iterator[DayBatch]:
        """Yield all days that are still open, by station and date, and report the gaps."""
        yield from self._close(sorted(self._open))
        self._report.spans = self._seen.spans()

    def _take(self, cells: _Numbers, values: ValueTable) -> None:
        milli, lines = self._milli.reshape(-1), self._lines.reshape(-1)
        is_first = lines[cells] == 0
        fresh = cells[is_first][::-1]  # backwards, so that of two the first is what remains
        milli[fresh] = values[MILLI][is_first][::-1]
        lines[fresh] = values[LINE][is_first][::-1]
        is_again = lines[cells] != values[LINE]
        is_other = is_again & (milli[cells] != values[MILLI])
        self._report.values_accepted -= int(is_again.sum())
        self._report.values_repeated += int(is_again.sum() - is_other.sum())
        for place in np.flatnonzero(is_other).tolist():
            self._note_other(values[:, place], int(milli[cells[place]]))

    def _note_other(self, value: _Numbers, first_milli: int) -> None:
        element = ELEMENTS[value[ELEMENT]]
        date = dt.date(int(value[YEAR]), 1, 1) + dt.timedelta(days=int(value[DAY]))
        amount = value[MILLI] / MILLI_PER_UNIT
        refusal = InvalidInputError(
            f"{element} of {date} is {amount:g} here but is {first_milli / MILLI_PER_UNIT:g} in an"
            " earlier line, which stays.",
            field=element, remedy="Find out which one is right and take the other line out.",
        )  # fmt: skip
        wording = f"{self._codes[value[STATION]]} {date} {element} {amount:g}"
        self._report.note(refusal, int(value[LINE]), wording)

    def _make_room(self, keys: list[int]) -> Iterator[DayBatch]:
        needed = sum(key not in self._open for key in keys)
        if needed > len(self._free):
            wanted = set(keys)
            older = (key for key in self._open if key not in wanted)
            count = max(needed - len(self._free), len(self._open) // 2)
            yield from self._close(list(islice(older, count)))

    def _slot(self, key: int) -> int:
        slot = self._open.get(key)
        if slot is None:
            slot = self._open[key] = self._free.pop()
        return slot

    def _close(self, keys: list[int]) -> Iterator[DayBatch]:
        for key in keys:
            slot = self._open.pop(key)
            place, year = divmod(key, _YEARS)
            batch = self._batch(slot, self._codes[place], year)
            self._milli[slot] = self._lines[slot] = 0
            self._free.append(slot)
            if batch.dates.size:
                yield batch

    def _batch(self, slot: int, code: str, year: int) -> DayBatch:
        lines = self._lines[slot]
        is_known = lines > 0
        amounts = np.where(is_known, self._milli[slot] / MILLI_PER_UNIT, np.nan)
        dates = np.datetime64(f"{year:04}-01-01") + np.arange(DAYS_OF_YEAR)
        for rule, days in contradictions_in(amounts):
            for day in days.tolist():
                at = lines[day, [ELEMENT_PLACE[rule.low], ELEMENT_PLACE[rule.high]]].max()
                self._note_contradiction(rule, code, dates[day], amounts[day], int(at))
            take_back(rule, days, amounts)
            self._report.values_accepted -= len(days) * len(rule.lost)
        is_day = np.asarray((~np.isnan(amounts)).any(axis=1))
        self._seen.add(code, year, is_day)
        return DayBatch(code, dates[is_day], amounts[is_day])

    def _note_contradiction(
        self, rule: Contradiction, code: str, date: Any, amounts: NDArray[np.float64], line: int
    ) -> None:
        low, high = amounts[ELEMENT_PLACE[rule.low]], amounts[ELEMENT_PLACE[rule.high]]
        refusal = InvalidInputError(
            f"On {date} " + rule.words.format(low=low, high=high),
            field=rule.high, remedy="Correct the two values: they may have changed places.",
        )  # fmt: skip
        wording = f"{code} {date} {rule.low} {low:g} {rule.high} {high:g}"
        self._report.note(refusal, line, wording)


def contradictions_in(
    amounts: NDArray[np.float64],
) -> Iterator[tuple[Contradiction, _Numbers]]:
    """Yield each rule and the rows that break it; rows that are taken back break no later rule."""
    for rule in CONTRADICTIONS:
        low, high = (amounts[:, ELEMENT_PLACE[code]] for code in (rule.low, rule.high))
        rows = np.flatnonzero(low > high)  # false where one is NaN
        if rows.size:
            yield rule, rows


def take_back(rule: Contradiction, rows: _Numbers, amounts: NDArray[np.float64]) -> None:
    """Blank what a broken rule costs, in place."""
    for code in rule.lost:
        amounts[rows, ELEMENT_PLACE[code]] = np.nan
