"""Storing daily weather out of station files: added, completed, never doubled."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any, Final
from uuid import UUID

from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.events import record_event
from scheduling.domain.station_files import read_station_file
from scheduling.domain.station_values import DayReading, Layout, ReadingReport, Units
from scheduling.models import WeatherDay, WeatherStation
from scheduling.services.et0 import compute_et0

BATCH_DAYS: Final = 2000
OBSERVED: Final = ("tmin_c", "tmax_c", "rain_mm")


@dataclass
class ImportReport:
    """What became of a file: the reader's report, and the days stored by it."""

    reading: ReadingReport
    days_added: int = 0
    days_changed: int = 0
    days_unchanged: int = 0
    unknown_stations: Counter[str] = field(default_factory=Counter)
    impossible_days: int = 0


@transaction.atomic
def import_station_file(
    lines: Iterable[str],
    *,
    layout: Layout | None = None,
    units: Units | None = None,
    now: dt.datetime,
) -> ImportReport:
    """Store the days of one file, all or (for a file that cannot be right) nothing.

    1. The file is read line by line; what is refused stands in the report.
    2. Days are merged into what is stored: a value that the file lacks is kept as it was.
    3. Only rows that differ are written, so that a second import changes nothing.
    """
    file = read_station_file(lines, layout, units, last_date=now.date() + dt.timedelta(days=1))
    stations = {station.code: station for station in WeatherStation.objects.all()}
    report = ImportReport(file.report)
    readings = _of_known_stations(file.days(), stations, report)
    while batch := list(islice(readings, BATCH_DAYS)):
        _store(batch, stations, report)
    file.check_units()
    _refuse_nothing_usable(report)
    return report


def _of_known_stations(
    days: Iterable[DayReading], stations: dict[str, WeatherStation], report: ImportReport
) -> Iterator[DayReading]:
    for day in days:
        if day.station_code in stations:
            yield day
        else:
            report.unknown_stations[day.station_code] += 1


def _store(
    batch: list[DayReading], stations: dict[str, WeatherStation], report: ImportReport
) -> None:
    stored = _stored_days(batch, stations)
    changed: dict[tuple[UUID, dt.date], WeatherDay] = {}
    for reading in batch:
        station = stations[reading.station_code]
        key = (station.pk, reading.date)
        day = changed.get(key) or stored.get(key) or WeatherDay(station=station, date=reading.date)
        if _merge(day, reading, report):
            changed[key] = day
    seen = {(stations[reading.station_code].pk, reading.date) for reading in batch}
    report.days_added += len(changed.keys() - stored.keys())
    report.days_changed += len(changed.keys() & stored.keys())
    report.days_unchanged += len(seen & stored.keys() - changed.keys())
    compute_et0(list(changed.values()))
    WeatherDay.objects.bulk_create(
        changed.values(),
        update_conflicts=True,
        unique_fields=["station", "date"],
        update_fields=[*OBSERVED, "et0_mm", "et0_method"],
    )


def _stored_days(
    batch: list[DayReading], stations: dict[str, WeatherStation]
) -> dict[tuple[UUID, dt.date], WeatherDay]:
    dates = [reading.date for reading in batch]
    codes = {reading.station_code for reading in batch}
    stored = WeatherDay.objects.select_related("station").filter(
        station__in=[stations[code] for code in codes], date__range=(min(dates), max(dates))
    )
    return {(day.station_id, day.date): day for day in stored}


def _merge(day: WeatherDay, reading: DayReading, report: ImportReport) -> bool:
    """Put the reading's values into the day; return whether anything became different."""
    before = [getattr(day, name) for name in OBSERVED]
    after = [
        old if new is None else new
        for old, new in zip(before, (getattr(reading, name) for name in OBSERVED), strict=True)
    ]
    tmin_c, tmax_c, _ = after
    if tmin_c is not None and tmax_c is not None and tmin_c > tmax_c:
        report.impossible_days += 1
        return False
    for name, value in zip(OBSERVED, after, strict=True):
        setattr(day, name, value)
    return before != after


def _refuse_nothing_usable(report: ImportReport) -> None:
    stored = report.days_added + report.days_changed + report.days_unchanged
    if stored or not report.unknown_stations:
        return
    codes = ", ".join(sorted(report.unknown_stations)[:5])
    raise InvalidInputError(
        f"None of the file's stations is registered: {codes}.",
        field="station", code="unknown-station",
        remedy="Register the station with its position, then import again.",
    )  # fmt: skip


@transaction.atomic
def add_weather_day(
    values: Mapping[str, Any], *, actor: StaffMember | None, now: dt.datetime
) -> WeatherDay:
    """Put in one day by hand; a day that is there already is refused."""
    day = WeatherDay(**{**values, **{name: _float(values.get(name)) for name in OBSERVED}})
    if day.date > now.date() + dt.timedelta(days=1):
        raise InvalidInputError(
            "This day lies in the future.",
            field="date", code="future", remedy="Enter days that were observed.",
        )  # fmt: skip
    if WeatherDay.objects.filter(station=day.station, date=day.date).exists():
        raise RefusedError(
            "This day of the station is there already.",
            code="day-exists", field="date",
            remedy="Complete or correct it by importing a station file.",
        )  # fmt: skip
    compute_et0([day])  # refuses crossed temperatures with a remedy, so before the constraints
    day.full_clean()
    day.save(force_insert=True)
    record_event(day.station, act="day put in", actor=actor, now=now, after={"date": str(day.date)})
    return day


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)
