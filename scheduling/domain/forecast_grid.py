"""Forecasts as layers of values, each with a start and a duration.

References
----------
The public documentation of the United States' national weather service: GeoJSON of a grid point,
`properties.<layer>` with `uom` and `values` of `validTime` (ISO 8601 start/duration) and `value`.
Read as an interchange format only.
"""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from properties.domain.units import Unit
from scheduling.domain.forecast_intervals import (
    LONGEST,
    Interval,
    amounts_by_day,
    duration_of,
    highest_by_day,
    maxima_by_day,
    means_by_day,
    minima_by_day,
)
from scheduling.domain.forecast_values import (
    FARTHEST_DAYS,
    ForecastReading,
    Problems,
    believable,
    excerpt,
    issue_time,
    moment_of,
    reading_of,
    refused_shape,
    unit_of,
)

ByDay = Callable[[Iterable[Interval], zoneinfo.ZoneInfo], dict[dt.date, float]]
LAYERS: Final[dict[str, tuple[str, ByDay]]] = {
    "maxTemperature": ("tmax_c", maxima_by_day),
    "minTemperature": ("tmin_c", minima_by_day),
    "quantitativePrecipitation": ("rain_mm", amounts_by_day),
    "probabilityOfPrecipitation": ("rain_probability_percent", highest_by_day),
    "relativeHumidity": ("humidity_percent", means_by_day),
    "windSpeed": ("wind_m_s", means_by_day),
}


@dataclass(frozen=True)
class _Span:
    """The moments in which a start can be believed."""

    first: dt.datetime
    last: dt.datetime


def read_grid(
    document: Any, zone: zoneinfo.ZoneInfo, *, retrieved_at: dt.datetime
) -> ForecastReading:
    """Return the local days of a document of layers.

    Parameters
    ----------
    document : the parsed JSON.
    zone : of the place; its days are local ones.
    retrieved_at : when the document came, in UTC.

    Amounts are split over the days by time; a highest or lowest temperature belongs to the day of
    most of its hours; the chance of rain is the highest that touches the day; humidity and wind
    are means. Except for temperatures a day has a value only where its layer covers all of it.

    Raises
    ------
    InvalidInputError
        Code "forecast-shape" without layers, "forecast-empty" without a usable day.
    """
    layers = document.get("properties") if isinstance(document, Mapping) else None
    if not isinstance(layers, Mapping):
        raise refused_shape("properties", "layers under `properties`")
    problems = Problems()
    span = _Span(retrieved_at - LONGEST, retrieved_at + dt.timedelta(days=FARTHEST_DAYS + 1))
    by_date: dict[dt.date, dict[str, float | None]] = {}
    for layer, (name, by_day) in LAYERS.items():
        intervals = _intervals(layer, name, layers.get(layer), span, problems)
        for date, value in by_day(intervals, zone).items():
            by_date.setdefault(date, {})[name] = value
    return reading_of(
        by_date,
        issued_at=issue_time(
            layers.get("updateTime"), retrieved_at=retrieved_at, problems=problems
        ),
        today=retrieved_at.astimezone(zone).date(),
        problems=problems,
    )


def _intervals(
    layer: str, name: str, content: Any, span: _Span, problems: Problems
) -> list[Interval]:
    values = content.get("values") if isinstance(content, Mapping) else None
    if not isinstance(values, list):
        problems.note(layer, "is missing, or has no list of values")
        return []
    stated = content.get("uom", content.get("unitCode"))
    unit = unit_of(name, stated, where=layer, problems=problems)
    if unit is None:
        return []
    each = (_interval(layer, name, entry, unit, span, problems) for entry in values)
    known = sorted((one for one in each if one), key=lambda interval: interval.start)
    return _without_overlaps(layer, known, problems)


def _interval(
    layer: str, name: str, entry: Any, unit: Unit, span: _Span, problems: Problems
) -> Interval | None:
    stated = entry.get("validTime") if isinstance(entry, Mapping) else None
    times = _times(stated, span)
    if times is None:
        problems.note(layer, f"the time {excerpt(stated)} cannot be right")
        return None
    where = f"{layer} {excerpt(stated)}"
    value = believable(name, entry.get("value"), unit, where=where, problems=problems)
    return None if value is None else Interval(*times, value)


def _times(stated: object, span: _Span) -> tuple[dt.datetime, dt.datetime] | None:
    if not isinstance(stated, str):
        return None
    start_text, _, duration_text = stated.partition("/")
    start, length = moment_of(start_text), duration_of(duration_text)
    if start is None or length is None or length > LONGEST or not span.first <= start <= span.last:
        return None
    start = start.astimezone(dt.UTC)
    return start, start + length


def _without_overlaps(layer: str, intervals: list[Interval], problems: Problems) -> list[Interval]:
    """Leave out what begins before its predecessor ends: no hour's rain falls twice.

    Temperatures go by this rule too; the nights and days of one layer do not overlap.
    """
    kept: list[Interval] = []
    for interval in intervals:
        if kept and interval.start < kept[-1].end:
            problems.note(layer, f"{interval.start:%Y-%m-%d %H:%M} overlaps the value before it")
        else:
            kept.append(interval)
    return kept
