"""Frost ahead of the properties in use, by the station that their plans go by; each frost once.

A forecast that is too old makes no frost. What was told by it stays until its day is over or a
newer one knows better: that nothing is known is no reason to take a frost back.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Final
from uuid import UUID

import numpy as np
from django.db.models import QuerySet

from scheduling.domain.daily_weather import FORECAST_DAYS, DailyWeather
from scheduling.domain.reminder_rules import ReminderKind, Rule
from scheduling.domain.reminder_words import Cause
from scheduling.domain.weather_facts import FROST_FREE_DAYS, frosts_ahead
from scheduling.domain.weather_words import FrostAhead, HardFrostAhead
from scheduling.models import ForecastDay, Reminder, WeatherDay
from scheduling.models.reminders import LIVE_REMINDER_STATES
from scheduling.selectors.forecasts import oldest_told
from scheduling.selectors.garden_stations import stations_of_gardens
from scheduling.selectors.reminder_batches import Gardens, of_garden

_HARD: Final = HardFrostAhead.code
_SAME: Final = dt.timedelta(days=FROST_FREE_DAYS)
"""Frosts nearer to one another are one: a forecast moves from day to day."""

Minima = dict[UUID, dict[dt.date, float]]
KnownFrost = tuple[str, dt.date, bool]
"""Its code, its date, and whether its reminder is live."""

Known = dict[UUID, list[KnownFrost]]


def frost_causes(batch: Gardens, rule: Rule) -> Iterator[Cause]:
    """Yield gardens with a frost ahead; a hard one after one that is not is news again."""
    stations = stations_of_gardens(batch.rows, today=batch.first_today, now=batch.now)
    minima = _minima(batch, set(stations.values()))
    known = _known(batch)
    fresh = _with_fresh_forecast(batch, set(stations.values()))
    frosts: dict[tuple[UUID, dt.date], tuple[FrostAhead, ...]] = {}
    for pk in batch.rows:
        today, station = batch.today[pk], stations.get(pk)
        if station not in fresh:
            yield from _standing(batch, rule, pk, known[pk])
            continue
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
    known: list[KnownFrost],
) -> Cause:
    worst = ahead[-1]
    code, date = worst.code, worst.first_date
    for known_code, known_date, _ in known:
        if known_code in (code, _HARD) and abs(date - known_date) <= _SAME:
            code, date = known_code, known_date
    cause = of_garden(batch.rows[pk], rule, f"{code}:{date}", date)
    return replace(cause, what=code, frosts=ahead)


def _standing(batch: Gardens, rule: Rule, pk: UUID, known: list[KnownFrost]) -> Iterator[Cause]:
    """Yield what a garden was told of and may still come."""
    for code, date, is_live in known:
        if is_live and date >= batch.today[pk]:
            yield replace(of_garden(batch.rows[pk], rule, f"{code}:{date}", date), what=code)


def _with_fresh_forecast(batch: Gardens, stations: set[UUID]) -> set[UUID]:
    days = _fresh_days(batch, stations).order_by()
    return set(days.values_list("station", flat=True).distinct())


def _fresh_days(batch: Gardens, stations: set[UUID]) -> QuerySet[ForecastDay]:
    last = batch.last_today + dt.timedelta(days=FORECAST_DAYS)
    return ForecastDay.objects.filter(
        station__in=stations,
        date__range=(batch.first_today, last),
        document__issued_at__gte=oldest_told(batch.now),
        tmin_c__isnull=False,
    )


def _known(batch: Gardens) -> Known:
    """Return the frosts that gardens were told of, the newest last."""
    rows = Reminder.objects.filter(
        kind=ReminderKind.FROST, property__in=batch.rows, due_date__gte=batch.first_today - _SAME
    )
    known: Known = defaultdict(list)
    for pk, code, date, state in rows.order_by("due_date", "id").values_list(
        "property", "what", "due_date", "state"
    ):
        known[pk].append((code, date, state in LIVE_REMINDER_STATES))
    return known


def _minima(batch: Gardens, stations: set[UUID]) -> Minima:
    first, last = batch.first_today - _SAME, batch.last_today - dt.timedelta(days=1)
    minima: Minima = defaultdict(dict)
    observed = WeatherDay.objects.filter(station__in=stations, date__range=(first, last))
    for rows in (_fresh_days(batch, stations), observed):
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
