"""Getting what a station observed: asked for outside of any transaction, stored in one.

1. `download` asks the source for the days that are missing, and for the newest ones again, which
   stations correct; at most for some weeks. Nothing is written.
2. `store_download` merges the days into what is stored, and says in `ObservationFetch` how it went.
   A failure changes that row alone, so what was stored stays, and its age tells.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from properties.domain.errors import DomainError
from properties.selectors.company import the_company
from properties.services.job_subjects import subject_of
from scheduling.models import ObservationFetch, WeatherStation
from scheduling.services.calibrations import ask_for_refits
from scheduling.services.forecast_http import JSON, Wanted, fetch_document
from scheduling.services.forecast_sockets import Surroundings
from scheduling.services.observation_sources import ObservationSource, Span, source_of
from scheduling.services.observed_days import StoredDays, store_observed
from scheduling.services.source_limits import agent, source_limits

STATION_TEXT: Final = Wanted(
    (
        "text/csv", "text/plain", "application/csv", "application/gzip", "application/x-gzip",
        "application/octet-stream",
    ),
    "text/csv, text/plain, application/gzip",
    "a station file",
)  # fmt: skip
_DAY: Final = dt.timedelta(days=1)
_PROBLEM_CHARS: Final = 500


@dataclass(frozen=True)
class ObservedDownload:
    """What a source answered to the days that were asked for; or why there is nothing."""

    source: ObservationSource
    span: Span
    body: bytes = b""
    failure: DomainError | None = None


@dataclass(frozen=True)
class ObservationOutcome:
    """How a fetch went: what became of the days, or the code of what went wrong; the problem."""

    added: int
    changed: int
    corrected: int
    code: str
    problem: str

    @property
    def is_good(self) -> bool:
        return not self.code

    def as_result(self) -> dict[str, Any]:
        """Return it as the result of a job."""
        return {
            "days_added": self.added, "days_changed": self.changed,
            "days_corrected": self.corrected, "code": self.code, "problem": self.problem,
        }  # fmt: skip


def fetch_observations(
    station: WeatherStation, *, now: dt.datetime, around: Surroundings | None = None
) -> ObservationOutcome:
    """Get and store the observed days of a station; what goes wrong is in the outcome.

    Raises
    ------
    RefusedError
        When no source is set for the station, or one that cannot be right.
    """
    return store_download(station, download(station, now=now, around=around), now=now)


def download_of(station_id: UUID, now: dt.datetime) -> ObservedDownload:
    """Do what of the background job asks somebody else."""
    return download(subject_of(WeatherStation.objects.all(), station_id), now=now)


def store_download_of(station_id: UUID, now: dt.datetime, got: ObservedDownload) -> dict[str, Any]:
    """Do the background job. A failed fetch is a job done: the failure is what it has to tell."""
    station = subject_of(WeatherStation.objects.all(), station_id)
    return store_download(station, got, now=now).as_result()


def download(
    station: WeatherStation, *, now: dt.datetime, around: Surroundings | None = None
) -> ObservedDownload:
    """Ask a station's source for its days, without writing anything."""
    source, time_zone = source_of(station), the_company().time_zone
    today = now.astimezone(ZoneInfo(time_zone)).date()
    span = span_to_ask(station, today, is_analysis=source.is_analysis)
    address = source.address(station, span, time_zone=time_zone)
    limits = source_limits(body_bytes=settings.OBSERVATION_BODY_BYTES)
    wanted = JSON if source.is_analysis else STATION_TEXT
    try:
        body = fetch_document(address, limits=limits, agent=agent(), wanted=wanted, around=around)
    except DomainError as failure:
        return ObservedDownload(source, span, failure=failure)
    return ObservedDownload(source, span, body)


def span_to_ask(station: WeatherStation, today: dt.date, *, is_analysis: bool) -> Span:
    """Return from the first missing day on, and some days again; at most OBSERVATION_MOST_DAYS.

    A day is missing without ET0; of a source of observations also one with analysed values.
    """
    earliest = today - settings.OBSERVATION_MOST_DAYS * _DAY
    days = station.days.filter(date__range=(earliest, today - _DAY), et0_mm__isnull=False)
    known = set((days if is_analysis else days.filter(analysed=0)).values_list("date", flat=True))
    again = max(earliest, today - settings.OBSERVATION_AGAIN_DAYS * _DAY)
    first = next((day for day in _days(earliest, again) if day not in known), again)
    return Span(first, today - _DAY)


@transaction.atomic
def store_download(
    station: WeatherStation, got: ObservedDownload, *, now: dt.datetime
) -> ObservationOutcome:
    """Store what was downloaded, or that it failed."""
    station = WeatherStation.objects.select_for_update(no_key=True).get(pk=station.pk)
    if got.failure is not None:
        return _failed(station, got.failure, now)
    try:
        stored = _stored(station, got)
    except DomainError as failure:
        return _failed(station, failure, now)
    return _succeeded(station, stored, got, now)


@transaction.atomic
def _stored(station: WeatherStation, got: ObservedDownload) -> StoredDays:
    """Store all days or none: a document that turns out wrong at its end leaves nothing."""
    return store_observed(station, got.source, got.body, got.span)


def _succeeded(
    station: WeatherStation, stored: StoredDays, got: ObservedDownload, now: dt.datetime
) -> ObservationOutcome:
    report, problem = stored.report, stored.left_out[:_PROBLEM_CHARS]
    fetch = _fetch_of(station, now)
    fetch.tried_at = fetch.succeeded_at = now
    fetch.failures, fetch.problem = 0, problem
    fetch.days_added, fetch.days_corrected = report.days_added, report.days_corrected
    fetch.corrections += report.days_corrected
    fetch.save()
    if not got.source.is_analysis and (report.days_added or report.days_changed):
        ask_for_refits([station], now=now)
    return ObservationOutcome(
        report.days_added, report.days_changed, report.days_corrected, "", problem
    )


def _failed(station: WeatherStation, failure: DomainError, now: dt.datetime) -> ObservationOutcome:
    problem = f"{failure.detail} {failure.remedy}"[:_PROBLEM_CHARS]
    fetch = _fetch_of(station, now)
    fetch.tried_at, fetch.problem, fetch.failures = now, problem, fetch.failures + 1
    fetch.save()
    # What two kinds of sources have in common is named after the first.
    code = failure.code.replace("forecast-", "observation-", 1)
    return ObservationOutcome(0, 0, 0, code, problem)


def _fetch_of(station: WeatherStation, now: dt.datetime) -> ObservationFetch:
    """Return the row of a locked station."""
    fetch, _ = ObservationFetch.objects.get_or_create(station=station, defaults={"tried_at": now})
    return fetch


def _days(first: dt.date, last: dt.date) -> Iterator[dt.date]:
    return (first + n * _DAY for n in range((last - first).days))
