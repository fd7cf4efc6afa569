"""Reading how far a station's observed days go, how old they are, and how the last fetch went."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Max, Q

from properties.selectors.company import the_company
from scheduling.models import ObservationFetch, WeatherDay, WeatherStation


@dataclass(frozen=True)
class StationObservations:
    """The newest day that was observed, and the newest that an analysis may stand in for.

    `age_days` is that of the observed one: yesterday's is 1. `is_late` from OBSERVATION_LATE_DAYS
    on, or when there is none.
    """

    observed_date: dt.date | None
    newest_date: dt.date | None
    age_days: int | None
    is_late: bool
    fetch: ObservationFetch | None


def observations_of(station: WeatherStation, *, now: dt.datetime) -> StationObservations:
    """Return how far the days of a station go, by the company's clock."""
    today = now.astimezone(ZoneInfo(the_company().time_zone)).date()
    found = station.days.filter(et0_mm__isnull=False).aggregate(
        observed=Max("date", filter=Q(analysed=0)), newest=Max("date")
    )
    observed = found["observed"]
    age_days = None if observed is None else (today - observed).days
    return StationObservations(
        observed_date=observed,
        newest_date=found["newest"],
        age_days=age_days,
        is_late=age_days is None or age_days >= settings.OBSERVATION_LATE_DAYS,
        fetch=ObservationFetch.objects.filter(station=station).first(),
    )


def oldest_newest(stations: Iterable[UUID], *, observed: bool) -> dt.date | None:
    """Return the newest whole day of that station whose newest is furthest back.

    With `observed` days that an analysis stands in for do not count.
    """
    days = WeatherDay.objects.filter(station__in=stations, et0_mm__isnull=False)
    if observed:
        days = days.filter(analysed=0)
    newest = days.order_by().values("station").annotate(newest=Max("date"))
    return min(newest.values_list("newest", flat=True), default=None)
