"""The daily weather of a property: its station's, with the gaps filled from the neighbours."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from properties.models import Property
from scheduling.domain.analysed_values import OBSERVED, analysed_of
from scheduling.domain.gap_filling import (
    Bias,
    FilledSeries,
    Mark,
    Neighbour,
    fill_gaps,
    reconcile,
)
from scheduling.domain.station_choice import effective_distance_km
from scheduling.models import WeatherDay
from scheduling.selectors.weather import NearStation, place_of_station, stations_near

NEIGHBOURS_READ: Final = 5  # three at most are used a day; others stand in where those have gaps
HISTORY_DAYS: Final = 5 * 366  # common practice: what sets two stations apart shows in five years
LONGEST_DAYS: Final = 40 * 366
YEAR_DAYS: Final = 365
BIASES: Final = {
    "tmin_c": (Bias.DIFFERENCE, -90.0),
    "tmax_c": (Bias.DIFFERENCE, -90.0),
    "rain_mm": (Bias.RATIO, 0.0),
    "et0_mm": (Bias.DIFFERENCE, 0.0),
}
_PLANNED: Final = ("rain_mm", "et0_mm")  # what a plan lives on

_READ: Final = (*BIASES, "analysed")

_Columns = dict[str, NDArray[np.float64]]


@dataclass(frozen=True)
class WeatherGaps:
    """Of how many days a plan had its weather from elsewhere, or not at all."""

    station: str
    first_date: dt.date
    last_date: dt.date
    days_filled: int
    days_missing: int


@dataclass(frozen=True)
class PropertyWeather:
    """Days in a row with their values, each marked as observed, analysed, filled or gap.

    `neighbours` are the stations that the sources of the series tell of, in that order.
    """

    main: NearStation
    neighbours: tuple[NearStation, ...]
    dates: NDArray[np.datetime64]
    series: dict[str, FilledSeries]

    @property
    def helpers(self) -> tuple[NearStation, ...]:
        """The neighbours out of which any value was filled."""
        return tuple(
            near
            for index, near in enumerate(self.neighbours)
            if any(series.sources[index].any() for series in self.series.values())
        )

    @property
    def gaps(self) -> WeatherGaps:
        """How many days have rain or ET0 filled, and how many have one of them missing."""
        marks = np.array([self.series[name].marks for name in _PLANNED])
        missing = (marks == Mark.GAP).any(axis=0)
        filled = (marks == Mark.FILLED).any(axis=0) & ~missing
        first, last = (dt.date.fromisoformat(str(self.dates[place])) for place in (0, -1))
        return WeatherGaps(
            self.main.station.code, first, last, int(filled.sum()), int(missing.sum())
        )


def weather_of_property(
    property_: Property, first: dt.date, last: dt.date, *, near: Sequence[NearStation] = ()
) -> PropertyWeather:
    """Return the weather of a property from `first` to `last`, both included.

    1. The best station of `stations_near` speaks for the property (`near`, where it is known).
    2. Where it lacks a value, that is filled from the stations nearest to it, with what sets them
       apart in the five years before taken out (`scheduling.domain.gap_filling`).
    3. Filled temperatures give way where they would contradict.

    However many stations there are: one query for the choice, one for the days, and one more for
    the neighbours only if something is missing.
    """
    _refuse_crooked_range(first, last)
    main, *others = near or stations_near(property_)
    own = _days_of([main], first, last)
    if not _lacks(own[main.station.pk]) or not others:
        return _filled(main, (), own, (first, first, last))
    helpers = _nearest_to(main, others)
    since = first - dt.timedelta(days=HISTORY_DAYS)
    return _filled(main, helpers, _days_of([main, *helpers], since, last), (since, first, last))


def gaps_of_last_year(property_: Property, near: Sequence[NearStation]) -> WeatherGaps | None:
    """Return what was filled and missing in the newest 365 days of the property's station."""
    last = near[0].last_date
    if last is None:
        return None
    first = last - dt.timedelta(days=YEAR_DAYS - 1)
    return weather_of_property(property_, first, last, near=near).gaps


def _refuse_crooked_range(first: dt.date, last: dt.date) -> None:
    if not 0 <= (last - first).days < LONGEST_DAYS:
        raise InvalidInputError(
            f"From {first} to {last} is not a span of days.",
            field="last", code="dates",
            remedy=f"Give a last day up to {LONGEST_DAYS} days after the first.",
        )  # fmt: skip


def _lacks(columns: _Columns) -> bool:
    return any(np.isnan(columns[name]).any() for name in BIASES)


def _nearest_to(main: NearStation, others: Iterable[NearStation]) -> tuple[NearStation, ...]:
    ranked = sorted(others, key=lambda near: (_between_km(main, near), near.station.code))
    return tuple(ranked[:NEIGHBOURS_READ])


def _between_km(one: NearStation, other: NearStation) -> float:
    return effective_distance_km(place_of_station(one.station), place_of_station(other.station))


def _days_of(
    stations: Sequence[NearStation], first: dt.date, last: dt.date
) -> dict[UUID, _Columns]:
    """Return the columns of each station on every day from first to last, NaN where unknown."""
    ids = [near.station.pk for near in stations]
    table = np.full((len(ids), (last - first).days + 1, len(_READ)), np.nan)
    rows = list(
        WeatherDay.objects.filter(station__in=ids, date__range=(first, last)).values_list(
            "station_id", "date", *_READ
        )
    )
    if rows:
        station_ids, dates, *columns = zip(*rows, strict=True)
        row = {pk: place for place, pk in enumerate(ids)}
        days = np.array(dates, dtype="datetime64[D]") - np.datetime64(first, "D")
        where = np.array([row[pk] for pk in station_ids]), days.astype(np.int64)
        table[where] = np.array(columns, dtype=np.float64).T  # None becomes NaN
    return {
        pk: {name: table[place, :, column] for column, name in enumerate(_READ)}
        for place, pk in enumerate(ids)
    }


def _filled(
    main: NearStation,
    helpers: tuple[NearStation, ...],
    days: dict[UUID, _Columns],
    span: tuple[dt.date, dt.date, dt.date],
) -> PropertyWeather:
    since, first, last = span
    dates = np.datetime64(since, "D") + np.arange((last - since).days + 1)
    series: dict[str, Any] = {}
    for name, (bias, lowest) in BIASES.items():
        neighbours = [
            Neighbour(days[near.station.pk][name], _between_km(main, near)) for near in helpers
        ]
        own = days[main.station.pk][name]
        series[name] = fill_gaps(dates, own, neighbours, bias=bias, lowest=lowest)
    series["tmin_c"], series["tmax_c"] = reconcile(series["tmin_c"], series["tmax_c"])
    start = (first - since).days
    analysed = _analysed(days[main.station.pk]["analysed"])
    cut = {name: _marked(each, analysed[name]).since(start) for name, each in series.items()}
    return PropertyWeather(main, helpers, dates[start:], cut)


def _analysed(marks: NDArray[np.float64]) -> dict[str, NDArray[np.bool_]]:
    """Return of each series which days a model stands in for; of ET0 those it has part in."""
    is_analysed = analysed_of(np.nan_to_num(marks).astype(np.int64))
    columns = dict(zip(OBSERVED, is_analysed.T, strict=True))
    of_et0 = is_analysed[:, [name != "rain_mm" for name in OBSERVED]].any(axis=1)
    return {name: columns.get(name, of_et0) for name in BIASES}


def _marked(series: FilledSeries, is_analysed: NDArray[np.bool_]) -> FilledSeries:
    is_own = is_analysed & (series.marks == Mark.OBSERVED)
    return replace(series, marks=np.where(is_own, Mark.ANALYSED, series.marks).astype(np.int8))
