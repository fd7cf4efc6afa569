"""Forecasts as parallel arrays, one entry a day.

References
----------
The public documentation of a free weather service of this shape: `daily_units`, `daily.time` and
one array for each quantity. Read as an interchange format only.
"""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.forecast_values import (
    ForecastReading,
    PastReading,
    Problems,
    believable,
    excerpt,
    number_of,
    past_reading_of,
    reading_of,
    refused_shape,
    unit_of,
)

# A day's highest wind is left alone: what evaporation asks for is the mean.
ARRAYS: Final[dict[str, str]] = {
    "temperature_2m_max": "tmax_c",
    "temperature_2m_min": "tmin_c",
    "precipitation_sum": "rain_mm",
    "precipitation_probability_max": "rain_probability_percent",
    "relative_humidity_2m_mean": "humidity_percent",
    "wind_speed_10m_mean": "wind_m_s",
    "shortwave_radiation_sum": "solar_mj_m2",
    "et0_fao_evapotranspiration": "provider_et0_mm",
}
REQUIRED: Final = ("temperature_2m_max", "temperature_2m_min", "precipitation_sum")
MOST_ENTRIES: Final = 400


def read_arrays(
    document: Any, zone: zoneinfo.ZoneInfo, *, retrieved_at: dt.datetime
) -> ForecastReading:
    """Return the days of a document of parallel arrays.

    Parameters
    ----------
    document : the parsed JSON.
    zone : of the place; days of another clock are refused.
    retrieved_at : when the document came, in UTC; such a document does not say when it was made,
        so this counts as its issue time.

    Raises
    ------
    InvalidInputError
        Code "forecast-shape" without days, "forecast-lengths" for arrays of unequal length,
        "forecast-zone" for days of another clock, "forecast-empty" without a usable day.
    """
    problems = Problems()
    by_date = _by_date(document, zone, problems)
    return reading_of(
        by_date,
        issued_at=retrieved_at,
        today=retrieved_at.astimezone(zone).date(),
        problems=problems,
    )


def read_past_arrays(
    document: Any, zone: zoneinfo.ZoneInfo, *, first: dt.date, last: dt.date
) -> PastReading:
    """Return the days that were, from `first` to `last`, as a model's analysis has them.

    Other days of the document are left alone. Refuses what `read_arrays` refuses, and with the
    code "forecast-empty" a document without a usable day among them.
    """
    problems = Problems()
    by_date = _by_date(document, zone, problems)
    return past_reading_of(by_date, first=first, last=last, problems=problems)


def position_of(document: Any) -> tuple[float, float] | None:
    """Return for which latitude and longitude a document says that it holds, None if it does not.

    Such a document speaks for the cell of a grid, so that it lies some way from what was asked for.
    """
    if not isinstance(document, Mapping):
        return None
    latitude, longitude = (number_of(document.get(name)) for name in ("latitude", "longitude"))
    return None if latitude is None or longitude is None else (latitude, longitude)


def _by_date(
    document: Any, zone: zoneinfo.ZoneInfo, problems: Problems
) -> dict[dt.date, dict[str, float | None]]:
    daily, units = _part(document, "daily"), _part(document, "daily_units")
    times = daily.get("time")
    if not isinstance(times, list) or not 0 < len(times) <= MOST_ENTRIES:
        raise refused_shape("daily.time", "list of days under `daily.time`")
    dates = _dates(times, problems)
    _check_clock(document, zone, [date for date in dates if date])
    by_date: dict[dt.date, dict[str, float | None]] = {date: {} for date in dates if date}
    for array, name in ARRAYS.items():
        values = _values(array, daily, len(times), problems)
        for date, value in _column(array, name, values, dates, units, problems):
            by_date[date][name] = value
    return by_date


def _part(document: Any, key: str) -> Mapping[str, Any]:
    part = document.get(key) if isinstance(document, Mapping) else None
    if not isinstance(part, Mapping):
        raise refused_shape(key, f"object `{key}`")
    return part


def _dates(times: Sequence[Any], problems: Problems) -> list[dt.date | None]:
    """Return the dates; one that is none, or comes twice, is noted and left out."""
    seen: set[dt.date] = set()
    dates: list[dt.date | None] = []
    for time in times:
        date = _date(time)
        if date is None or date in seen:
            problems.note("time", f"{excerpt(time)} is no date, or is there twice")
            date = None
        else:
            seen.add(date)
        dates.append(date)
    return dates


def _date(text: object) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        return None


def _values(array: str, daily: Mapping[str, Any], count: int, problems: Problems) -> Sequence[Any]:
    values = daily.get(array)
    if values is None:
        if array in REQUIRED:
            problems.note(array, "is missing")
        return ()
    if not isinstance(values, list):
        problems.note(array, "is not a list")
        return ()
    if len(values) != count:
        raise InvalidInputError(
            f"The forecast has {count} days but {len(values)} values of {array}.",
            field=f"daily.{array}", code="forecast-lengths",
            remedy="Fetch it again; should it stay so, the source is broken.",
        )  # fmt: skip
    return values


def _column(
    array: str,
    name: str,
    values: Sequence[Any],
    dates: Sequence[dt.date | None],
    units: Mapping[str, Any],
    problems: Problems,
) -> Iterable[tuple[dt.date, float | None]]:
    unit = unit_of(name, units.get(array), where=array, problems=problems) if values else None
    if unit is None:
        return
    for date, value in zip(dates, values, strict=True):
        if date:
            where = f"{array} {date}"
            yield date, believable(name, value, unit, where=where, problems=problems)


def _check_clock(
    document: Mapping[str, Any], zone: zoneinfo.ZoneInfo, dates: Sequence[dt.date]
) -> None:
    """Refuse days of another clock: their midnight is not the one of the place."""
    theirs = _zone_of(document.get("timezone"))
    offset_s = document.get("utc_offset_seconds")
    for date in dates:
        noon = dt.datetime.combine(date, dt.time(12))
        ours = noon.replace(tzinfo=zone).utcoffset()
        if theirs is not None and noon.replace(tzinfo=theirs).utcoffset() != ours:
            raise _other_clock(document.get("timezone"), zone)
    if theirs is None and offset_s is not None and dates:
        _check_offset(offset_s, zone, dates)


def _check_offset(offset_s: object, zone: zoneinfo.ZoneInfo, dates: Sequence[dt.date]) -> None:
    """Without a zone the offset must be one that the place has within these days."""
    offsets = {dt.datetime.combine(date, dt.time(12), tzinfo=zone).utcoffset() for date in dates}
    ours_s = {offset.total_seconds() for offset in offsets if offset is not None}
    if not isinstance(offset_s, int | float) or offset_s not in ours_s:
        raise _other_clock(offset_s, zone)


def _zone_of(name: object) -> zoneinfo.ZoneInfo | None:
    try:
        return zoneinfo.ZoneInfo(name) if isinstance(name, str) else None
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return None


def _other_clock(stated: object, zone: zoneinfo.ZoneInfo) -> InvalidInputError:
    return InvalidInputError(
        f"The forecast's days are those of the clock {excerpt(stated)}, not of {zone.key}.",
        field="timezone", code="forecast-zone",
        remedy="Ask the source for days of the place: its address may hold {time_zone}.",
    )  # fmt: skip
