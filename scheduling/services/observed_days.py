"""From what a source answered to stored days: read, held to what was asked for, merged.

Nothing but the days that were asked for is taken, so that a source can neither tell of days to come
nor rewrite old years.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from properties.selectors.company import the_company
from scheduling.domain.air import STRONGEST_M_S, wind_at_2m
from scheduling.domain.analysed_values import OBSERVED
from scheduling.domain.forecast_arrays import position_of, read_past_arrays
from scheduling.domain.forecast_documents import parsed, text_of
from scheduling.domain.forecast_values import ForecastValues
from scheduling.domain.station_bytes import whole_lines
from scheduling.domain.station_choice import Place, effective_distance_km
from scheduling.domain.station_days import DayBatch
from scheduling.domain.station_files import read_station_blocks
from scheduling.domain.station_values import ReadingReport
from scheduling.models import WeatherStation
from scheduling.services.forecast_et0 import FORECAST_WIND_HEIGHT_M
from scheduling.services.observation_sources import ObservationSource, Span
from scheduling.services.weather_days import DayStore, ImportReport

UNPACKED_BYTES: Final = 32 << 20
FARTHEST_KM: Final = 50.0  # common practice: a coarse model's cell, and some way to its middle
_DECIMALS: Final = 3
_WORDS_KEPT: Final = 5


@dataclass(frozen=True)
class StoredDays:
    """What became of a document, and what of it was left out, in words."""

    report: ImportReport
    left_out: str


def store_observed(
    station: WeatherStation, source: ObservationSource, body: bytes, span: Span
) -> StoredDays:
    """Store the days of a document, in the caller's transaction.

    Raises
    ------
    InvalidInputError
        For a document that cannot be read, is another station's, or has none of the days.
    """
    if source.is_analysis:
        return _store_analysis(station, body, span)
    return _store_file(station, source, body, span)


def _store_file(
    station: WeatherStation, source: ObservationSource, body: bytes, span: Span
) -> StoredDays:
    blocks = whole_lines([body], limit_bytes=UNPACKED_BYTES)
    file = read_station_blocks(
        blocks, source.layout, source.units,
        last_date=span.last + dt.timedelta(days=1),  # today's, so far, is no mistake
        wanted=frozenset({station.code}),
    )  # fmt: skip
    report = ImportReport(file.report)
    DayStore([station], report).store(_within(file.batches(), span))
    file.check_units()
    _refuse_nothing(station, report, span)
    return StoredDays(report, _left_out_of_file(report))


def _store_analysis(station: WeatherStation, body: bytes, span: Span) -> StoredDays:
    document = parsed(text_of(body))
    _refuse_other_place(station, document)
    zone = ZoneInfo(the_company().time_zone)
    reading = read_past_arrays(document, zone, first=span.first, last=span.last)
    report = ImportReport(ReadingReport())
    DayStore([station], report, is_analysis=True).store([_batch(station, reading.days)])
    return StoredDays(report, _listed(reading.problem_count, reading.problems))


def _within(batches: Iterator[DayBatch], span: Span) -> Iterator[DayBatch]:
    first, last = np.datetime64(span.first, "D"), np.datetime64(span.last, "D")
    for batch in batches:
        rows = (first <= batch.dates) & (batch.dates <= last)
        if rows.any():
            yield DayBatch(batch.station_code, batch.dates[rows], batch.amounts[rows])


def _batch(station: WeatherStation, days: tuple[ForecastValues, ...]) -> DayBatch:
    rows = [[getattr(day, name, None) for name in OBSERVED] for day in days]
    amounts: NDArray[np.float64] = np.array(rows, dtype=np.float64)  # None becomes NaN
    wind = amounts[:, OBSERVED.index("wind_m_s")]
    wind *= wind_at_2m(1.0, FORECAST_WIND_HEIGHT_M) / wind_at_2m(1.0, station.anemometer_height_m)
    wind[wind > STRONGEST_M_S] = np.nan
    dates = np.array([day.date for day in days], dtype="datetime64[D]")
    return DayBatch(station.code, dates, np.round(amounts, _DECIMALS))


def _refuse_other_place(station: WeatherStation, document: Any) -> None:
    position = position_of(document)
    if position is None:
        return
    here = Place(station.latitude, station.longitude)
    away_km = effective_distance_km(here, Place(*position))
    if away_km > FARTHEST_KM:
        raise InvalidInputError(
            f"The source's days are those of a place {away_km:.0f} km from the station"
            f" {station.code}.",
            field="latitude", code="observation-place",
            remedy="Let its address hold {latitude} and {longitude}.",
        )  # fmt: skip


def _refuse_nothing(station: WeatherStation, report: ImportReport, span: Span) -> None:
    reading = report.reading
    if reading.unwanted and not reading.spans:
        codes = ", ".join(sorted(reading.unwanted)[:_WORDS_KEPT])
        raise InvalidInputError(
            f"The source's days are those of {codes}, and none of the station {station.code}.",
            field="station", code="observation-station",
            remedy="Correct the source's address: it may hold {station}.",
        )  # fmt: skip
    if report.days_added or report.days_changed or report.days_unchanged:
        return
    first = f" First problem: {reading.problems[0].detail}" if reading.problems else ""
    raise InvalidInputError(
        f"The source has no usable day from {span.first} to {span.last}.{first}",
        field="date", code="observation-none",
        remedy="Wait where it is late; should it stay so, check the source's address.",
    )  # fmt: skip


def _left_out_of_file(report: ImportReport) -> str:
    reading = report.reading
    words = [problem.detail for problem in reading.problems]
    words += [f"failed check {flag}: {n}" for flag, n in sorted(reading.dropped_by_flag.items())]
    if report.impossible_days:
        words.append(f"contradicts what is stored: {report.impossible_days} days")
    flagged = sum(reading.dropped_by_flag.values())
    return _listed(reading.problem_count + flagged + report.impossible_days, words)


def _listed(count: int, words: list[str] | tuple[str, ...]) -> str:
    return f"Left out ({count}): {'; '.join(words[:_WORDS_KEPT])}" if count else ""
