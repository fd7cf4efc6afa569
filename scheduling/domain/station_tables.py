"""Accepted values as columns of whole numbers: what is read in bulk and folded into days."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from typing import Final, get_args

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.station_values import Code, ElementValue

ValueTable = NDArray[np.int64]
"""Six rows, one column for each value, in the order of the file: the number of its line, the place
of its station in the reader's list, the year, the days since 1 January, the place of its element,
and the amount in thousandths of degC, mm, m/s or percent."""

LINE, STATION, YEAR, DAY, ELEMENT, MILLI = range(6)
ROWS: Final = 6
DAYS_OF_YEAR: Final = 366
MILLI_PER_UNIT: Final = 1000
ELEMENT_PLACE: Final[dict[Code, int]] = {code: n for n, code in enumerate(get_args(Code))}


class StationList:
    """The stations of one file in the order of their appearance; None wants all of them."""

    def __init__(self, wanted: frozenset[str] | None) -> None:
        self.codes: list[str] = []
        self._wanted = wanted
        self._places: dict[str, int] = {}

    def place(self, code: str) -> int:
        """Return the station's place, or -1 if nobody asked for it."""
        place = self._places.get(code)
        if place is None:
            if self._wanted is not None and code not in self._wanted:
                return -1
            place = self._places[code] = len(self.codes)
            self.codes.append(code)
        return place


def table_of(values: list[ElementValue], stations: StationList) -> ValueTable:
    """Return values that were read one by one as a table."""
    columns = [
        (
            value.line_number, stations.place(value.station_code), *_place_of_day(value.date),
            ELEMENT_PLACE[value.element], round(value.value * MILLI_PER_UNIT),
        )
        for value in values
    ]  # fmt: skip
    return np.array(columns, dtype=np.int64).reshape(-1, ROWS).T


def in_order_of_lines(*tables: ValueTable) -> ValueTable:
    """Return one table of several, as the lines stand in the file."""
    filled = [table for table in tables if table.shape[1]]
    if len(filled) <= 1:
        return filled[0] if filled else np.empty((ROWS, 0), dtype=np.int64)
    joined = np.concatenate(filled, axis=1)
    return joined[:, np.argsort(joined[LINE], kind="stable")]


@lru_cache(maxsize=65536)
def _place_of_day(date: dt.date) -> tuple[int, int]:
    return date.year, (date - dt.date(date.year, 1, 1)).days
