"""Storing what was read of many days: merged into what is there, and only what differs written.

1. Days are gathered to some ten thousands, so that nothing grows with the length of the file.
2. What is stored of them is read; a value that the file lacks stays as it was.
   An observation takes the place of an analysed value, an analysis never that of an observed one.
3. A day whose merged values contradict each other loses its analysed ones; if it still does, it is
   left as it was, and counted.
4. ET0 is computed for the days that differ, and those alone are written: by COPY on PostgreSQL, in
   lists on other databases.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db import connection
from django.db.models import Max, Min
from numpy.typing import NDArray

from scheduling.domain.analysed_values import OBSERVED, analysed_of, marks_of
from scheduling.domain.et0_methods import Et0Method, StationDays, best_et0
from scheduling.domain.station_days import DayBatch, contradictions_in
from scheduling.domain.station_values import ReadingReport
from scheduling.models import StationCalibration, WeatherDay, WeatherStation
from scheduling.services.et0 import ET0_DECIMALS, NO_LINE, sun_coefficient_of
from scheduling.services.weather_copy import DayColumns, copy_days

BATCH_DAYS: Final = 20_000
ROWS_A_STATEMENT: Final = 2000
STATION_FACTS: Final = (
    "latitude_deg", "elevation_m", "anemometer_height_m", "sun_coefficient", "slope", "offset_mm",
)  # fmt: skip
METHODS: Final = ("", *(method.value for method in Et0Method))
Amounts = NDArray[np.float64]
Truths = NDArray[np.bool_]


@dataclass
class ImportReport:
    """What became of a file: the reader's report, and the days stored by it.

    Of the days changed, `days_corrected` had a value of the same kind that was another one; the
    others were completed, or an analysis gave way to what was observed.
    """

    reading: ReadingReport
    days_added: int = 0
    days_changed: int = 0
    days_corrected: int = 0
    days_unchanged: int = 0
    impossible_days: int = 0


@dataclass(frozen=True)
class _Days:
    """Days of several stations as columns; `place` is that of the station in the list given.

    `amounts` and `is_analysed` have a row a day, a column for each of `OBSERVED`.
    """

    place: NDArray[np.int64]
    dates: NDArray[np.datetime64]
    amounts: Amounts
    is_analysed: Truths

    def of(self, rows: Truths) -> _Days:
        return _Days(self.place[rows], self.dates[rows], self.amounts[rows], self.is_analysed[rows])


class DayStore:
    """Stores the days of one file; see the procedure above. To be used inside a transaction.

    With `is_analysis` they are a model's, and marked as such.
    """

    def __init__(
        self, stations: Sequence[WeatherStation], report: ImportReport, *, is_analysis: bool = False
    ) -> None:
        self._is_analysis = is_analysis
        self._stations = list(stations)
        self._places = {station.code: n for n, station in enumerate(self._stations)}
        self._facts = _facts(self._stations)
        self._ranges: dict[int, Any] = {}
        self._report = report

    def store(self, batches: Iterable[DayBatch]) -> None:
        """Store all days of the batches; a day may come in parts."""
        for some in _gathered(batches):
            self._store(self._days(some))

    def _days(self, batches: list[DayBatch]) -> _Days:
        sizes = [batch.dates.size for batch in batches]
        places = [self._places[batch.station_code] for batch in batches]
        measured = np.concatenate([batch.amounts for batch in batches])
        more = np.full((len(measured), len(OBSERVED) - measured.shape[1]), np.nan)
        amounts = np.hstack([measured, more])
        return _Days(
            np.repeat(places, sizes),
            np.concatenate([batch.dates for batch in batches]),
            amounts,
            np.full(amounts.shape, self._is_analysis) & ~np.isnan(amounts),
        )

    def _store(self, days: _Days) -> None:
        stored, is_stored = self._stored(days)
        merged = _merged(stored, days)
        is_possible = ~_contradicts(merged.amounts)
        differs = _differs(merged.amounts, stored.amounts) | (
            merged.is_analysed != stored.is_analysed
        )
        is_written = is_possible & differs.any(axis=1)
        is_same_kind = merged.is_analysed == stored.is_analysed
        is_other = _differs(merged.amounts, stored.amounts) & ~np.isnan(stored.amounts)
        is_corrected = is_written & (is_other & is_same_kind).any(axis=1)
        self._report.impossible_days += int((~is_possible).sum())
        self._report.days_added += int((is_written & ~is_stored).sum())
        self._report.days_changed += int((is_written & is_stored).sum())
        self._report.days_corrected += int(is_corrected.sum())
        self._report.days_unchanged += int((is_possible & ~is_written).sum())
        self._write(merged.of(is_written), all_new=not is_stored[is_written].any())

    def _stored(self, days: _Days) -> tuple[_Days, Truths]:
        """Return what is stored of the same days, NaN for what is not, and which days are."""
        amounts, is_stored = np.full_like(days.amounts, np.nan), np.zeros(len(days.place), bool)
        marks = np.zeros(len(days.place), dtype=np.int64)
        for place in np.unique(days.place).tolist():
            rows = np.flatnonzero(days.place == place)
            first, last = days.dates[rows].min().item(), days.dates[rows].max().item()
            if not self._may_be_stored(place, first, last):
                continue
            dates, values, marked = _stored_between(self._stations[place].pk, first, last)
            order = rows[np.argsort(days.dates[rows])]
            at = np.searchsorted(days.dates[order], dates)
            is_asked = np.isin(dates, days.dates[order])
            found = order[at[is_asked]]
            amounts[found], is_stored[found] = values[is_asked], True
            marks[found] = marked[is_asked]
        return replace(days, amounts=amounts, is_analysed=analysed_of(marks)), is_stored

    def _may_be_stored(self, place: int, first: dt.date, last: dt.date) -> bool:
        """Tell whether any day of a range can be there, and take the range for stored from now on.

        Spares a first import one look for each batch, which would be into a table that grows too
        fast for its statistics.
        """
        if place not in self._ranges:
            days = WeatherDay.objects.filter(station=self._stations[place].pk)
            self._ranges[place] = tuple(days.aggregate(Min("date"), Max("date")).values())
        start, end = self._ranges[place]
        self._ranges[place] = min(start or first, first), max(end or last, last)
        return start is not None and first <= end and last >= start

    def _write(self, days: _Days, *, all_new: bool) -> None:
        if not days.dates.size:
            return
        et0_mm, methods = best_et0(self._station_days(days))
        columns = DayColumns(
            station_ids=[station.pk for station in self._stations],
            station=days.place,
            dates=days.dates,
            names=(*OBSERVED, "et0_mm", "analysed"),
            values=np.column_stack(
                [days.amounts, np.round(et0_mm, ET0_DECIMALS), marks_of(days.is_analysed)]
            ),
            word_name="et0_method",
            words=METHODS,
            word=_places_of(methods),
        )
        if connection.vendor == "postgresql":
            copy_days(columns, all_new=all_new)
        else:
            save_days(columns)

    def _station_days(self, days: _Days) -> StationDays:
        """Return what ET0 is computed from; as for single days, but never as objects."""
        of_station = {name: values[days.place] for name, values in self._facts.items()}
        amounts = dict(zip(OBSERVED, days.amounts.T, strict=True))
        del amounts["rain_mm"]
        year = days.dates.astype("datetime64[Y]").astype("datetime64[D]")
        day_of_year = (days.dates - year).astype(np.float64) + 1
        return StationDays(day_of_year=day_of_year, **of_station, **amounts)


def _merged(stored: _Days, days: _Days) -> _Days:
    """Return the days with what is known of them now; what was guessed gives way to the rest."""
    gives_way = np.isnan(stored.amounts) | stored.is_analysed | ~days.is_analysed
    is_taken = ~np.isnan(days.amounts) & gives_way
    amounts = np.where(is_taken, days.amounts, stored.amounts)
    is_analysed = np.where(is_taken, days.is_analysed, stored.is_analysed)
    lost = is_analysed & _contradicts(amounts)[:, None]
    amounts[lost], is_analysed[lost] = np.nan, False
    return replace(days, amounts=amounts, is_analysed=is_analysed)


def _contradicts(amounts: Amounts) -> Truths:
    found = np.zeros(len(amounts), dtype=bool)
    for _, rows in contradictions_in(amounts):
        found[rows] = True
    return found


def _differs(one: Amounts, other: Amounts) -> Truths:
    differs: Truths = (one != other) & ~(np.isnan(one) & np.isnan(other))
    return differs


def save_days(days: DayColumns) -> None:
    """Write days in lists of rows, in place of those that are there."""
    values = days.values.astype(object)
    values[np.isnan(days.values)] = None
    rows = [
        WeatherDay(
            station_id=days.station_ids[place],
            date=date,
            **dict(zip(days.names, row, strict=True)),
            **{days.word_name: days.words[word]},
        )
        for place, date, row, word in zip(
            days.station.tolist(), days.dates.tolist(), values.tolist(), days.word.tolist(),
            strict=True,
        )
    ]  # fmt: skip
    WeatherDay.objects.bulk_create(
        rows, ROWS_A_STATEMENT, update_conflicts=True, unique_fields=["station", "date"],
        update_fields=[*days.names, days.word_name],
    )  # fmt: skip


def _facts(stations: Sequence[WeatherStation]) -> dict[str, NDArray[np.float64]]:
    """Return what the ET0 of a station's days depends on, a column each."""
    calibrations = StationCalibration.objects.filter(station__in=[each.pk for each in stations])
    lines = {each.station_id: (each.slope, each.offset_mm) for each in calibrations}
    rows = [
        (
            station.latitude, station.elevation_m, station.anemometer_height_m,
            sun_coefficient_of(station), *lines.get(station.pk, NO_LINE),
        )
        for station in stations
    ]  # fmt: skip
    columns = np.array(rows, dtype=np.float64).reshape(-1, len(STATION_FACTS)).T
    return dict(zip(STATION_FACTS, columns, strict=True))


def _places_of(methods: NDArray[np.str_]) -> NDArray[np.int64]:
    place = np.zeros(len(methods), dtype=np.int64)
    for number, method in enumerate(METHODS):
        place[methods == method] = number
    return place


def _gathered(batches: Iterable[DayBatch]) -> Iterator[list[DayBatch]]:
    """Yield lists of some ten thousand days, of which none is twice in one list."""
    some: list[DayBatch] = []
    years: set[tuple[str, Any]] = set()
    days = 0
    for batch in batches:
        year = batch.station_code, batch.dates[0].astype("datetime64[Y]")
        if days >= BATCH_DAYS or year in years:
            yield some
            some, days = [], 0
            years.clear()
        some.append(batch)
        years.add(year)
        days += batch.dates.size
    if some:
        yield some


def _stored_between(
    station_id: UUID, first: dt.date, last: dt.date
) -> tuple[NDArray[np.datetime64], Amounts, NDArray[np.int64]]:
    rows = list(
        WeatherDay.objects.filter(station=station_id, date__range=(first, last))
        .order_by("date")
        .values_list("date", "analysed", *OBSERVED)
    )
    found: list[dt.date] = [row[0] for row in rows]
    marks = np.array([row[1] for row in rows], dtype=np.int64)
    values = np.array([row[2:] for row in rows], dtype=np.float64)
    return np.array(found, dtype="datetime64[D]"), values.reshape(-1, len(OBSERVED)), marks
