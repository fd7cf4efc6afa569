"""Frost ahead of the properties with a plan, by the station of the plan; each frost once."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Final
from uuid import UUID

import numpy as np

from scheduling.domain.daily_weather import FORECAST_DAYS, DailyWeather
from scheduling.domain.reminder_rules import ReminderKind, Rule
from scheduling.domain.reminder_words import Cause
from scheduling.domain.weather_facts import FROST_FREE_DAYS, frosts_ahead
from scheduling.domain.weather_words import FrostAhead, HardFrostAhead
from scheduling.models import ForecastDay, Reminder, WeatherDay
from scheduling.selectors.night_inputs import newest_plans
from scheduling.selectors.reminder_batches import Gardens, of_garden

_HARD: Final = HardFrostAhead.code
_SAME: Final = dt.timedelta(days=FROST_FREE_DAYS)
"""Frosts nearer to one another are one: a forecast moves from day to day."""

Minima = dict[UUID, dict[dt.date, float]]
Known = dict[UUID, list[tuple[str, dt.date]]]


def frost_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens with a frost ahead; a hard one after one that is not is news again."""
    stations = _stations(batch)
    minima = _minima(batch, set(stations.values()))
    known = _known(batch)
    frosts: dict[tuple[UUID, dt.date], tuple[FrostAhead, ...]] = {}
    for pk, station in stations.items():
        today = batch.today[pk]
        at = station, today
        if at not in frosts:
            frosts[at] = frosts_ahead(_weather(minima[station], today))
        ahead = tuple(each for each in frosts[at] if rule.is_near(each.first_date, today))
        if ahead:
            yield _cause(batch, rule, pk, ahead, known[pk])


def _cause(
    batch: Gardens,
    rule: Rule,
    pk: UUID,
    ahead: tuple[FrostAhead, ...],
    known: list[tuple[str, dt.date]],
) -> Cause:
    worst = ahead[-1]
    code, date = worst.code, worst.first_date
    for known_code, known_date in known:
        if known_code in (code, _HARD) and abs(date - known_date) <= _SAME:
            code, date = known_code, known_date
    cause = of_garden(batch.rows[pk], rule, f"{code}:{date}", date)
    return replace(cause, what=code, frosts=ahead)


def _stations(batch: Gardens) -> dict[UUID, UUID]:
    rows = newest_plans().filter(zone__property__in=batch.rows)
    stations: dict[UUID, UUID] = {}
    ordered = rows.order_by("zone__number", "zone_id")
    for pk, station in ordered.values_list("zone__property", "station"):
        stations.setdefault(pk, station)
    return stations


def _known(batch: Gardens) -> Known:
    """Return the frosts that gardens were told of, the newest last."""
    rows = Reminder.objects.filter(
        kind=ReminderKind.FROST, property__in=batch.rows, due_date__gte=batch.first_today - _SAME
    )
    known: Known = defaultdict(list)
    for pk, code, date in rows.order_by("due_date", "id").values_list(
        "property", "what", "due_date"
    ):
        known[pk].append((code, date))
    return known


def _minima(batch: Gardens, stations: set[UUID]) -> Minima:
    first = batch.first_today - _SAME
    last = batch.last_today + dt.timedelta(days=FORECAST_DAYS)
    minima: Minima = defaultdict(dict)
    for model, dates in (
        (ForecastDay, (batch.first_today, last)),
        (WeatherDay, (first, batch.last_today - dt.timedelta(days=1))),
    ):
        rows = model._default_manager.filter(station__in=stations, date__range=dates)
        for station, date, tmin_c in rows.values_list("station", "date", "tmin_c"):
            minima[station][date] = np.nan if tmin_c is None else tmin_c
    return minima


def _weather(minima: dict[dt.date, float], today: dt.date) -> DailyWeather:
    dates = np.datetime64(today, "D") + np.arange(-FROST_FREE_DAYS, FORECAST_DAYS)
    tmin_c = np.array([minima.get(date, np.nan) for date in dates.tolist()])
    unknown = np.full(dates.size, np.nan)
    return DailyWeather(
        dates=dates,
        tmin_c=tmin_c,
        tmax_c=unknown,
        rain_mm=unknown,
        et0_mm=unknown,
        is_forecast=np.arange(dates.size) >= FROST_FREE_DAYS,
    )
