"""Getting a station's forecast: asked for outside of any transaction, stored in one.

1. `download` asks the source and reads the answer; nothing is written.
2. `store_download` keeps the document once, lets it speak for the days of which no newer one spoke,
   computes our ET0, and says in `ForecastFetch` how it went. A failure changes that row alone, so
   the last good days stay, and their age tells.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import zoneinfo
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.db import transaction

from properties.domain.errors import DomainError
from properties.selectors.company import the_company
from scheduling.domain.forecast_arrays import read_arrays
from scheduling.domain.forecast_documents import parsed, text_of
from scheduling.domain.forecast_grid import read_grid
from scheduling.domain.forecast_values import CORE_NAMES, VALUE_NAMES, ForecastReading
from scheduling.models import (
    ForecastDay,
    ForecastDocument,
    ForecastFetch,
    ForecastStyle,
    WeatherStation,
)
from scheduling.services.forecast_et0 import forecast_et0
from scheduling.services.forecast_http import fetch_document
from scheduling.services.forecast_sockets import Surroundings
from scheduling.services.forecast_sources import ForecastSource, source_of
from scheduling.services.source_limits import agent, source_limits

Reader = Callable[..., ForecastReading]
READERS: Final[Mapping[ForecastStyle, Reader]] = MappingProxyType(
    {ForecastStyle.GRID_DURATIONS: read_grid, ForecastStyle.DAILY_ARRAYS: read_arrays}
)
_PROBLEM_CHARS: Final = 500


@dataclass(frozen=True)
class Download:
    """What a source answered, read; or why there is nothing."""

    style: ForecastStyle
    text: str = ""
    reading: ForecastReading | None = None
    failure: DomainError | None = None


@dataclass(frozen=True)
class FetchOutcome:
    """How a fetch went: the days stored, or the code of what went wrong; the problem in words."""

    days: int
    code: str
    problem: str

    @property
    def is_good(self) -> bool:
        return not self.code

    def as_result(self) -> dict[str, Any]:
        """Return it as the result of a job."""
        return {"days": self.days, "code": self.code, "problem": self.problem}


def fetch_forecast(
    station: WeatherStation,
    *,
    now: dt.datetime,
    source: ForecastSource | None = None,
    around: Surroundings | None = None,
) -> FetchOutcome:
    """Get and store the forecast of a station; what goes wrong on the way is in the outcome.

    Raises
    ------
    RefusedError
        When no source is set for the station, or one that cannot be right.
    """
    got = download(station, now=now, source=source, around=around)
    return store_download(station, got, now=now)


def download_of(station_id: UUID, now: dt.datetime) -> Download:
    """Do what of the background job asks somebody else."""
    return download(WeatherStation.objects.get(pk=station_id), now=now)


def store_download_of(station_id: UUID, now: dt.datetime, got: Download) -> dict[str, Any]:
    """Do the background job. A failed fetch is a job done: the failure is what it has to tell."""
    station = WeatherStation.objects.get(pk=station_id)
    return store_download(station, got, now=now).as_result()


def download(
    station: WeatherStation,
    *,
    now: dt.datetime,
    source: ForecastSource | None = None,
    around: Surroundings | None = None,
) -> Download:
    """Ask a station's source and read its answer, without writing anything."""
    time_zone = the_company().time_zone
    source = source or source_of(station, time_zone=time_zone)
    try:
        limits = source_limits(body_bytes=settings.FORECAST_BODY_BYTES)
        body = fetch_document(source, limits=limits, agent=agent(), around=around)
        text = text_of(body)
        reading = READERS[source.style](
            parsed(text), zoneinfo.ZoneInfo(time_zone), retrieved_at=now
        )
    except DomainError as failure:
        return Download(source.style, failure=failure)
    return Download(source.style, text=text, reading=reading)


@transaction.atomic
def store_download(station: WeatherStation, got: Download, *, now: dt.datetime) -> FetchOutcome:
    """Store what was downloaded, or that it failed."""
    WeatherStation.objects.select_for_update().get(pk=station.pk)  # one store at a time
    if got.reading is None:
        assert got.failure is not None
        return _failed(station, got.failure, now)
    document = _kept_document(station, got, got.reading, now)
    days = _store_days(station, document, got.reading, now)
    _prune(station, now)
    problem = _left_out(got.reading)
    ForecastFetch.objects.update_or_create(
        station=station,
        defaults={"tried_at": now, "succeeded_at": now, "failures": 0, "problem": problem},
    )
    return FetchOutcome(days, "", problem)


def _failed(station: WeatherStation, failure: DomainError, now: dt.datetime) -> FetchOutcome:
    problem = f"{failure.detail} {failure.remedy}"[:_PROBLEM_CHARS]
    fetch, _ = ForecastFetch.objects.get_or_create(station=station, defaults={"tried_at": now})
    fetch.tried_at, fetch.problem, fetch.failures = now, problem, fetch.failures + 1
    fetch.save()
    return FetchOutcome(0, failure.code, problem)


def _kept_document(
    station: WeatherStation, got: Download, reading: ForecastReading, now: dt.datetime
) -> ForecastDocument:
    """Keep a document once; when it comes again, only its moments move."""
    moments = {"issued_at": reading.issued_at, "retrieved_at": now}
    document, _ = ForecastDocument.objects.update_or_create(
        station=station,
        digest=hashlib.sha256(got.text.encode()).hexdigest(),
        defaults=moments,
        create_defaults={"style": got.style, "body": got.text, **moments},
    )
    return document


def _store_days(
    station: WeatherStation, document: ForecastDocument, reading: ForecastReading, now: dt.datetime
) -> int:
    today = now.astimezone(zoneinfo.ZoneInfo(the_company().time_zone)).date()
    stored = {day.date: day for day in _days_from(station, today)}
    days = [
        day
        for values in reading.days
        if values.date >= today
        if not _stays(stored.get(values.date), day := _row(station, document, values), today)
    ]
    for day, et0_mm in zip(days, forecast_et0(station, days), strict=True):
        day.et0_mm = et0_mm
    ForecastDay.objects.bulk_create(
        days,
        update_conflicts=True,
        unique_fields=["station", "date"],
        update_fields=["document", *VALUE_NAMES, "et0_mm"],
    )
    return len(days)


def _days_from(station: WeatherStation, first: dt.date) -> Any:
    days = station.forecast_days.filter(date__gte=first)
    return days.select_related("document").defer("document__body")


def _row(station: WeatherStation, document: ForecastDocument, values: Any) -> ForecastDay:
    named = {name: getattr(values, name) for name in VALUE_NAMES}
    return ForecastDay(station=station, document=document, date=values.date, **named)


def _stays(stored: ForecastDay | None, new: ForecastDay, today: dt.date) -> bool:
    """Tell whether a stored day stays: by a newer document, or today by one that knew more of it.

    In the course of a day documents begin to speak of what is left of it alone.
    """
    if stored is None:
        return False
    if stored.document.issued_at > new.document.issued_at:
        return True
    return new.date == today and any(
        getattr(new, name) is None and getattr(stored, name) is not None for name in CORE_NAMES
    )


def _prune(station: WeatherStation, now: dt.datetime) -> None:
    """Delete days that are long past, and old documents that no day goes back to."""
    before = now - dt.timedelta(days=settings.FORECAST_KEEP_DAYS)
    station.forecast_days.filter(date__lt=before.date()).delete()
    station.forecast_documents.filter(retrieved_at__lt=before, days__isnull=True).delete()


def _left_out(reading: ForecastReading) -> str:
    if not reading.problem_count:
        return ""
    return f"Left out ({reading.problem_count}): {'; '.join(reading.problems)}"[:_PROBLEM_CHARS]
