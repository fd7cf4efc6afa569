"""Storing daily weather out of station files: added, completed, never doubled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import StaffMember
from properties.services.events import record_event
from scheduling.domain.analysed_values import OBSERVED
from scheduling.domain.station_files import StationFile, read_station_blocks, read_station_file
from scheduling.domain.station_layouts import FIRST_YEAR
from scheduling.domain.station_values import Layout, Units
from scheduling.models import WeatherDay, WeatherStation
from scheduling.services.calibrations import ask_for_refits
from scheduling.services.et0 import compute_et0
from scheduling.services.weather_days import DayStore, ImportReport

__all__ = ["ImportReport", "add_weather_day", "import_station_blocks", "import_station_file"]


@transaction.atomic
def import_station_blocks(
    blocks: Iterable[bytes],
    *,
    layout: Layout | None = None,
    units: Units | None = None,
    only_station: str | None = None,
    now: dt.datetime,
) -> ImportReport:
    """Store the days of one file, all or (for a file that cannot be right) nothing.

    1. The stations are locked, so that two files are stored one after the other.
    2. The file is read block by block; what is refused stands in the report.
    3. Days are merged into what is stored: a value that the file lacks is kept as it was.
    4. Only rows that differ are written, so that a second import changes nothing.

    Parameters
    ----------
    blocks : the file, as `station_bytes.whole_lines` gives it out.
    layout, units : see `read_station_blocks`.
    only_station : the code of the one station to take days of; all registered ones if None.
    """
    stations = _locked_stations(only_station)
    file = read_station_blocks(
        blocks, layout, units, last_date=_last_date(now),
        wanted=frozenset(station.code for station in stations),
    )  # fmt: skip
    return _store(file, stations, now)


@transaction.atomic
def import_station_file(
    lines: Iterable[str],
    *,
    layout: Layout | None = None,
    units: Units | None = None,
    now: dt.datetime,
) -> ImportReport:
    """Store the days of lines of text, as `import_station_blocks` stores those of bytes."""
    stations = _locked_stations(None)
    file = read_station_file(
        lines, layout, units, last_date=_last_date(now),
        wanted=frozenset(station.code for station in stations),
    )  # fmt: skip
    return _store(file, stations, now)


def _locked_stations(only_code: str | None) -> list[WeatherStation]:
    stations = WeatherStation.objects.order_by("pk").select_for_update(no_key=True)
    if only_code is None:
        return list(stations)
    found = list(stations.filter(code=only_code))
    if not found:
        raise _unknown_station(f"The station {only_code} is not registered.")
    return found


def _lock(station: WeatherStation) -> None:
    """Let no file be stored meanwhile: it would not look for this day again."""
    WeatherStation.objects.select_for_update(no_key=True).get(pk=station.pk)


def _last_date(now: dt.datetime) -> dt.date:
    """Return tomorrow: east of Greenwich a day ends before it does in UTC."""
    return now.date() + dt.timedelta(days=1)


def _store(file: StationFile, stations: Sequence[WeatherStation], now: dt.datetime) -> ImportReport:
    report = ImportReport(file.report)
    DayStore(stations, report).store(file.batches())
    file.check_units()
    _refuse_nothing_usable(report)
    if report.days_added or report.days_changed:
        _ask_for_refits(stations, report, now)
    return report


def _ask_for_refits(
    stations: Sequence[WeatherStation], report: ImportReport, now: dt.datetime
) -> None:
    """Let stations that got days be fitted anew where these are enough."""
    codes = {span.station_code for span in report.reading.spans}
    ask_for_refits([station for station in stations if station.code in codes], now=now)


def _refuse_nothing_usable(report: ImportReport) -> None:
    unwanted = report.reading.unwanted
    if report.reading.spans or not unwanted:
        return
    codes = ", ".join(sorted(unwanted)[:5])
    raise _unknown_station(f"None of the file's stations is registered or asked for: {codes}.")


def _unknown_station(detail: str) -> InvalidInputError:
    return InvalidInputError(
        detail,
        field="station", code="unknown-station",
        remedy="Register the station with its position, then import again.",
    )  # fmt: skip


@transaction.atomic
def add_weather_day(
    values: Mapping[str, Any], *, actor: StaffMember | None, now: dt.datetime
) -> WeatherDay:
    """Put in one day by hand; one that was observed already is refused, an analysis gives way."""
    _lock(values["station"])
    day = WeatherDay(**{**values, **{name: _float(values.get(name)) for name in OBSERVED}})
    _refuse_unobserved(day, now)
    known = WeatherDay.objects.filter(station=day.station, date=day.date).first()
    if known is not None and not _is_analysis(known):
        raise RefusedError(
            "This day of the station is there already.",
            code="day-exists", field="date",
            remedy="Complete or correct it by importing a station file.",
        )  # fmt: skip
    _refuse_contradictions(day)
    compute_et0([day])  # refuses crossed temperatures with a remedy, so before the constraints
    if known is not None:
        known.delete()
    day.full_clean()
    day.save(force_insert=True)
    record_event(day.station, act="day put in", actor=actor, now=now, after={"date": str(day.date)})
    return day


def _is_analysis(day: WeatherDay) -> bool:
    """Tell whether nothing of the day was observed."""
    known = {name for name in OBSERVED if getattr(day, name) is not None}
    return bool(known) and known == set(day.analysed_names())


def _refuse_unobserved(day: WeatherDay, now: dt.datetime) -> None:
    """Refuse a day that nobody can have observed, or of which nothing is told.

    Either would stay: it would make the record too long for a usual year, or keep the day's values
    from being put in.
    """
    if day.date > _last_date(now):
        raise InvalidInputError(
            "This day lies in the future.",
            field="date", code="future", remedy="Enter days that were observed.",
        )  # fmt: skip
    if day.date.year < FIRST_YEAR:
        raise InvalidInputError(
            f"Nobody kept daily weather before {FIRST_YEAR}.",
            field="date", code="too-early", remedy="Correct the year.",
        )  # fmt: skip
    if all(getattr(day, name) is None for name in OBSERVED):
        raise InvalidInputError(
            "Nothing is told of this day.",
            field="tmin_c", code="empty-day", remedy="Enter at least one value that was observed.",
        )  # fmt: skip


def _refuse_contradictions(day: WeatherDay) -> None:
    """Refuse what a file would not keep, or the day would keep out what files bring later."""
    for low, high in (("humidity_min_percent", "humidity_max_percent"), ("dew_point_c", "tmax_c")):
        lowest, highest = getattr(day, low), getattr(day, high)
        if lowest is not None and highest is not None and lowest > highest:
            raise InvalidInputError(
                f"{lowest:g} is above {highest:g}, which cannot be.",
                field=low, code="contradiction", remedy="Check both values, or leave one out.",
            )  # fmt: skip


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)
