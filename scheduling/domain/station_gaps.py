"""Which days of a station a file holds, and which are missing in between."""

from __future__ import annotations

import datetime as dt

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.station_tables import DAYS_OF_YEAR
from scheduling.domain.station_values import StationSpan


class DaysSeen:
    """Remembers in 46 bytes for each year of a station on which days something was measured."""

    def __init__(self) -> None:
        self._years: dict[str, dict[int, NDArray[np.uint8]]] = {}

    def add(self, station_code: str, year: int, is_seen: NDArray[np.bool_]) -> None:
        """Add the days of one year, 366 yes or no; a year may come in parts."""
        years = self._years.setdefault(station_code, {})
        bits = np.packbits(is_seen)
        years[year] = years[year] | bits if year in years else bits

    def spans(self) -> list[StationSpan]:
        """Return first and last day and the gaps of each station, in the order of the codes."""
        dates = ((code, _dates(years)) for code, years in sorted(self._years.items()))
        return [_span(code, days) for code, days in dates if days.size]


def _dates(years: dict[int, NDArray[np.uint8]]) -> NDArray[np.int64]:
    return np.concatenate(
        [
            dt.date(year, 1, 1).toordinal()
            + np.flatnonzero(np.unpackbits(bits, count=DAYS_OF_YEAR))
            for year, bits in sorted(years.items())
        ]
    )


def _span(code: str, days: NDArray[np.int64]) -> StationSpan:
    first, last = int(days[0]), int(days[-1])
    return StationSpan(
        station_code=code,
        first_date=dt.date.fromordinal(first),
        last_date=dt.date.fromordinal(last),
        days=days.size,
        days_missing=last - first + 1 - days.size,
        longest_gap_days=int(np.diff(days, prepend=first - 1).max()) - 1,
    )
