"""How the fetching of weather stands: ages, failures, and which stations warn of no frost."""

from __future__ import annotations

import datetime as dt
from typing import Any, Final

from django.db.models import Exists, Max, OuterRef, QuerySet

from scheduling.models import (
    ForecastDay,
    ForecastDocument,
    ForecastFetch,
    ObservationFetch,
    PlanMonth,
    WeatherStation,
)
from scheduling.selectors.forecasts import oldest_told
from scheduling.selectors.observations import oldest_newest

MOST_TOLD: Final = 20


def weather_operation(today: dt.date, now: dt.datetime) -> dict[str, Any]:
    """Return the numbers and names that tell how old the weather is."""
    used = PlanMonth.objects.filter(month=today.month).values("station").distinct()
    stations = list(used.values_list("station", flat=True))
    forecast = ForecastDocument.objects.aggregate(newest=Max("issued_at"))["newest"]
    silent = _without_fresh_forecast(today, now).order_by("code")
    in_use = ObservationFetch.objects.filter(station__retired_at=None)
    failing = in_use.filter(failures__gt=0).order_by("station__code")
    return {
        "weather_age_days": _age_days(oldest_newest(stations, observed=False), today),
        "observed_age_days": _age_days(oldest_newest(stations, observed=True), today),
        "observations_failing": _named(failing.values_list("station__code", "problem")),
        "forecast_age_s": None if forecast is None else max(0.0, (now - forecast).total_seconds()),
        "forecasts_failing": ForecastFetch.objects.filter(
            failures__gt=0, station__retired_at=None
        ).count(),
        "stations_without_frost_warning": _named(
            silent.values_list("code", "forecast_fetch__problem")
        ),
    }


def _without_fresh_forecast(today: dt.date, now: dt.datetime) -> QuerySet[WeatherStation]:
    """Return the stations once asked for a forecast, or gone by, whose forecast is too old."""
    fresh = ForecastDay.objects.filter(
        station=OuterRef("pk"), date__gte=today, document__issued_at__gte=oldest_told(now)
    )
    in_use = PlanMonth.objects.filter(station=OuterRef("pk"), month=today.month)
    asked = ForecastFetch.objects.filter(station=OuterRef("pk"))
    return WeatherStation.objects.filter(
        Exists(in_use) | Exists(asked), ~Exists(fresh), retired_at=None
    )


def _named(rows: Any) -> list[dict[str, str]]:
    """Return stations with their problem; of very many the first ones."""
    return [{"station": code, "problem": problem or ""} for code, problem in rows[:MOST_TOLD]]


def _age_days(date: dt.date | None, today: dt.date) -> int | None:
    return None if date is None else (today - date).days
