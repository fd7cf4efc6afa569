"""Reading a station's forecast: its days to come, how old they are, and how the last fetch went."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from dataclasses import dataclass

from django.conf import settings

from properties.selectors.company import the_company
from scheduling.models import ForecastDay, ForecastFetch, WeatherStation


@dataclass(frozen=True)
class StationForecast:
    """The days from today on and the newest document among theirs; None where there is none."""

    days: tuple[ForecastDay, ...]
    issued_at: dt.datetime | None
    retrieved_at: dt.datetime | None
    age_hours: float | None
    is_stale: bool
    tells: bool
    fetch: ForecastFetch | None


def oldest_told(now: dt.datetime) -> dt.datetime:
    """Return when a document must have been made at least for frost and heat to be told by it."""
    return now - dt.timedelta(hours=settings.FORECAST_TELLS_HOURS)


def forecast_of(station: WeatherStation, *, now: dt.datetime) -> StationForecast:
    """Return what is forecast at a station, by the company's clock.

    A forecast is stale when its newest document was made longer ago than FORECAST_STALE_HOURS, or
    when there is none; it tells nobody of frost and heat after FORECAST_TELLS_HOURS.
    """
    today = now.astimezone(zoneinfo.ZoneInfo(the_company().time_zone)).date()
    rows = station.forecast_days.filter(date__gte=today).order_by("date")
    days = tuple(rows.select_related("document").defer("document__body"))
    newest = max((day.document for day in days), key=lambda each: each.issued_at, default=None)
    age = None if newest is None else max(dt.timedelta(), now - newest.issued_at)
    return StationForecast(
        days=days,
        issued_at=None if newest is None else newest.issued_at,
        retrieved_at=None if newest is None else newest.retrieved_at,
        age_hours=None if age is None else age / dt.timedelta(hours=1),
        is_stale=age is None or age > dt.timedelta(hours=settings.FORECAST_STALE_HOURS),
        tells=newest is not None and newest.issued_at >= oldest_told(now),
        fetch=ForecastFetch.objects.filter(station=station).first(),
    )
