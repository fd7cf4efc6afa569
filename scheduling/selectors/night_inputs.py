"""What the nightly look reads: the weather of a station, and the plans of many zones as columns."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db.models import Count, Exists, F, Max, OuterRef, QuerySet, Sum

from scheduling.domain.daily_climate import slot_of_day
from scheduling.domain.night_outlook import AHEAD_DAYS, PAST_DAYS, NightWeather, NightZones
from scheduling.domain.water_columns import Array
from scheduling.models import ForecastDay, PlanMonth, WateringPlan, WeatherStation, ZoneOutlook
from scheduling.selectors.weather import usual_year_of

SLICE_ZONES: Final = 5000
LEAST_CHANCE_PERCENT: Final = 50.0  # common practice: rain that is as likely as not is waited for
_COLUMNS: Final = (
    "raw_mm", "need_per_et0", "usual_et0_mm", "net_mm", "gross_mm", "least_days", "most_days",
)  # fmt: skip


@dataclass(frozen=True)
class NightPlans:
    """Zones in order of their ids, and the columns of the month."""

    zone_ids: list[UUID]
    zones: NightZones


Told = tuple[int, int, dt.date | None]
"""Days between, percent, next watering: as an outlook is stored."""


def newest_plans() -> QuerySet[WateringPlan]:
    """Return the newest plan of each zone that is in use."""
    newer = WateringPlan.objects.filter(zone=OuterRef("zone"), number__gt=OuterRef("number"))
    return WateringPlan.objects.filter(~Exists(newer), zone__is_active=True)


def zones_by_station(month: int) -> Iterator[tuple[UUID, UUID]]:
    """Yield station and zone of each zone with a plan, by station and then by zone."""
    months = PlanMonth.objects.filter(month=month, zone__is_active=True)
    rows = months.order_by("station", "zone_id").values_list("station", "zone")
    yield from rows.iterator(chunk_size=SLICE_ZONES)


def night_plans(station_id: UUID, first: UUID, last: UUID, month: int) -> NightPlans:
    """Return the plans of zones from one id to another, for one month."""
    rows = list(
        _months(station_id, first, last, month)
        .order_by("zone_id")
        .values_list("zone_id", *_COLUMNS)
    )
    values = np.array([row[1:] for row in rows], dtype=np.float64).reshape(-1, len(_COLUMNS))
    columns = dict(zip(_COLUMNS, values.T, strict=True))
    return NightPlans([row[0] for row in rows], NightZones(**columns))


def plans_mark(station_id: UUID, first: UUID, last: UUID, month: int) -> str:
    """Return what differs as soon as another plan, or another zone, is among those."""
    marks = _months(station_id, first, last, month).aggregate(
        count=Count("pk"), newest=Max("pk"), total=Sum("pk")
    )
    return repr(sorted(marks.items()))


def _months(station_id: UUID, first: UUID, last: UUID, month: int) -> QuerySet[PlanMonth]:
    return PlanMonth.objects.filter(
        month=month, station=station_id, zone__id__range=(first, last), zone__is_active=True
    )


def stored_outlooks(station_id: UUID, first: UUID, last: UUID, month: int) -> dict[UUID, Told]:
    """Return what is stored of the zones of `night_plans`; others have ids between theirs."""
    rows = ZoneOutlook.objects.filter(
        zone__in=_months(station_id, first, last, month).order_by().values("zone")
    )
    return {
        zone: (days, percent, next_on)
        for zone, days, percent, next_on in rows.values_list(
            "zone", "days_between", "percent", "next_on"
        )
    }


def night_weather(station: WeatherStation, today: dt.date) -> tuple[NightWeather, int]:
    """Return the weather around a day, and for how many past days usual ones stand in.

    The past is what the station observed; the days ahead are its forecast; what neither has is
    usual, and without rain. A forecast rain counts when it is likely.
    """
    dates = np.datetime64(today, "D") + np.arange(-PAST_DAYS, AHEAD_DAYS)
    et0, rain = (np.full(dates.size, np.nan) for _ in range(2))
    _put(et0, rain, _observed(station, dates), dates[0].item())
    unknown = int(np.isnan(et0[:PAST_DAYS]).sum())
    forecast = np.zeros(AHEAD_DAYS)
    for date, et0_mm, rain_mm, chance in _forecast(station, today):
        place = PAST_DAYS + (date - today).days
        et0[place] = np.nan if et0_mm is None else et0_mm
        if rain_mm is not None and (chance is None or chance >= LEAST_CHANCE_PERCENT):
            forecast[place - PAST_DAYS] = rain_mm
    gaps = np.isnan(et0)
    et0[gaps] = _usual_et0(station, dates[gaps])
    return NightWeather(
        et0_mm=et0, rain_mm=np.nan_to_num(rain[:PAST_DAYS]), forecast_rain_mm=forecast
    ), unknown


def _put(et0: Array, rain: Array, rows: list[tuple[Any, ...]], first: dt.date) -> None:
    for date, et0_mm, rain_mm in rows:
        place = (date - first).days
        et0[place] = np.nan if et0_mm is None else et0_mm
        rain[place] = np.nan if rain_mm is None else rain_mm


def _observed(station: WeatherStation, dates: Any) -> list[tuple[Any, ...]]:
    first, last = dates[0].item(), dates[PAST_DAYS - 1].item()
    rows = station.days.filter(date__range=(first, last))
    return list(rows.values_list("date", "et0_mm", "rain_mm"))


def _forecast(station: WeatherStation, today: dt.date) -> QuerySet[ForecastDay, tuple[Any, ...]]:
    last = today + dt.timedelta(days=AHEAD_DAYS - 1)
    rows = station.forecast_days.filter(date__range=(today, last))
    return rows.values_list("date", "et0_mm", "rain_mm", F("rain_probability_percent"))


def _usual_et0(station: WeatherStation, dates: Any) -> Array:
    if not dates.size:
        return np.empty(0)
    climate, usual = usual_year_of(station)
    months = dates.astype("datetime64[M]").astype(np.int64) % 12
    of_day: Array = usual.et0.mean[slot_of_day(dates)]
    return np.where(np.isnan(of_day), np.array(climate.et0_mm_day)[months], of_day)
