"""What the nightly look reads: the weather of a station, and the plans of many zones as columns."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db.models import (
    BigIntegerField,
    Count,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    RowRange,
    Sum,
    Window,
)
from django.db.models.functions import RowNumber

from scheduling.domain.climate import Climate
from scheduling.domain.daily_climate import DailyClimate, slot_of_day
from scheduling.domain.night_outlook import AHEAD_DAYS, PAST_DAYS, NightWeather, NightZones
from scheduling.domain.refill import Truths
from scheduling.domain.water_columns import Array
from scheduling.models import ForecastDay, PlanMonth, WateringPlan, WeatherStation
from scheduling.selectors.night_rules import RULE_COLUMNS, NightRules
from scheduling.selectors.weather import usual_year_of

SLICE_ZONES: Final = 10_000
_WEIGHTS: Final = 9973  # a prime; a sum of some million numbers of rows stays within 64 bits
_STATIONS_KEPT: Final = 8
LEAST_CHANCE_PERCENT: Final = 50.0  # common practice: rain that is as likely as not is waited for
_COLUMNS: Final = (
    "raw_mm", "need_per_et0", "usual_et0_mm", "net_mm", "gross_mm", "least_days", "most_days",
)  # fmt: skip
_NUMBERS: Final = ("pk", "zone__revision", "zone__property__revision")
_STORED: Final = tuple(f"zone__outlook__{name}" for name in ("days_between", "percent", "next_on"))


@dataclass(frozen=True)
class SliceBounds:
    """Zones of one station, from one id to another, and the mark of their plans.

    The mark differs as soon as another plan or zone is among them, or a zone or its property has
    another revision, on which it may hang what the rules of its district allow.
    """

    station_id: UUID
    first_zone: UUID
    last_zone: UUID
    mark: str


Told = tuple[int, int, dt.date | None]
"""Days between, percent, next watering: as an outlook is stored."""


@dataclass(frozen=True)
class NightPlans:
    """Zones in order of their ids: the columns of the month, and what is stored of each.

    `mark` is that of a slice, of what was read.
    """

    zone_ids: list[UUID]
    zones: NightZones
    stored: list[Told]
    mark: str


def newest_plans() -> QuerySet[WateringPlan]:
    """Return the newest plan of each zone that is in use."""
    newer = WateringPlan.objects.filter(zone=OuterRef("zone"), number__gt=OuterRef("number"))
    return WateringPlan.objects.filter(~Exists(newer), zone__is_active=True)


def night_slices(month: int) -> Iterator[SliceBounds]:
    """Yield the zones that have a plan in slices, by station and then by zone.

    The database counts, and adds up the marks; only the bounds of each slice come here.
    """
    first: UUID
    before = 0, 0
    for station, zone, place, count, total in _bounds(month):
        if place == 1:
            before = 0, 0
        if (place - 1) % SLICE_ZONES == 0:
            first = zone
        if place % SLICE_ZONES == 0 or place == count:
            yield SliceBounds(station, first, zone, _mark(place - before[0], total - before[1]))
            before = place, total


def _bounds(month: int) -> QuerySet[PlanMonth, tuple[Any, ...]]:
    """Return the first and the last zone of each slice, with the sum of the marks up to it."""
    in_order: dict[str, Any] = {"partition_by": F("station"), "order_by": F("zone_id").asc()}
    revisions = F("zone__revision") + F("zone__property__revision")
    weights = Sum(_weight(F("pk"), revisions), output_field=BigIntegerField())
    places = PlanMonth.objects.filter(month=month, zone__is_active=True).annotate(
        place=Window(RowNumber(), **in_order),
        total=Window(weights, frame=RowRange(end=0), **in_order),
        count=Window(Count("pk"), partition_by=F("station")),
        over=F("place") % SLICE_ZONES,
    )
    bounds = places.filter(Q(over__in=(0, 1 % SLICE_ZONES)) | Q(place=F("count")))
    return bounds.order_by("station", "zone_id").values_list(
        "station", "zone_id", "place", "count", "total"
    )


def _weight(number: Any, revisions: Any) -> Any:
    """Return what a row adds to the mark; that plans changed places or zones is seen too."""
    return (number + revisions) * (number % _WEIGHTS + 1)


def _mark(count: int, total: int) -> str:
    return f"{count} {total}"


def night_plans(bounds: SliceBounds, month: int, rules: NightRules) -> NightPlans:
    """Return the plans of the zones of a slice, for one month."""
    months = PlanMonth.objects.filter(
        month=month,
        station=bounds.station_id,
        zone__id__range=(bounds.first_zone, bounds.last_zone),
        zone__is_active=True,
    )
    names = (*_NUMBERS, *_COLUMNS, *_STORED, *(RULE_COLUMNS if rules.binds_any() else ()))
    rows = list(months.order_by("zone_id").values_list("zone_id", *names))
    values = list(zip(*rows, strict=True)) or [()] * (1 + len(names))
    found = dict(zip(("zone_id", *names), values, strict=True))
    pk, zone, garden = (np.array(found[name], dtype=np.int64) for name in _NUMBERS)
    may_water: Truths | bool = True
    if rules.binds_any():
        may_water = rules.days_of(zip(*(found[name] for name in RULE_COLUMNS), strict=True))
    return NightPlans(
        zone_ids=list(found["zone_id"]),
        zones=NightZones(
            **{name: np.array(found[name], dtype=np.float64) for name in _COLUMNS},
            may_water=may_water,
        ),
        stored=list(zip(*(found[name] for name in _STORED), strict=True)),
        mark=_mark(len(rows), int(_weight(pk, zone + garden).sum())),
    )


def night_weather(
    station: WeatherStation, today: dt.date, run_id: UUID
) -> tuple[NightWeather, int]:
    """Return the weather around a day, and for how many past days usual ones stand in.

    The past is what the station observed; the days ahead are its forecast; what neither has is
    usual, and without rain. A forecast rain counts when it is likely. What is usual at the station
    is worked out once for all slices of a run that one process does.
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
    et0[gaps] = _usual_et0(station.pk, dates[gaps], run_id)
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


def _usual_et0(station_id: UUID, dates: Any, run_id: UUID) -> Array:
    if not dates.size:
        return np.empty(0)
    climate, usual = _usual_year(station_id, run_id)
    months = dates.astype("datetime64[M]").astype(np.int64) % 12
    of_day: Array = usual.et0.mean[slot_of_day(dates)]
    return np.where(np.isnan(of_day), np.array(climate.et0_mm_day)[months], of_day)


@lru_cache(maxsize=_STATIONS_KEPT)
def _usual_year(station_id: UUID, run_id: UUID) -> tuple[Climate, DailyClimate]:
    """Thirty years of days are a third of what a slice costs; the run's id keeps it from aging."""
    return usual_year_of(WeatherStation.objects.get(pk=station_id))
