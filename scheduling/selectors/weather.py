"""Which station's weather a property has, and what is usual there."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeVar

import numpy as np
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Property
from scheduling.domain.climate import Climate, monthly_climate
from scheduling.domain.daily_climate import DailyClimate, daily_climate
from scheduling.domain.station_choice import (
    ENOUGH_DAYS,
    Candidate,
    Place,
    RankedStation,
    ranked_stations,
)
from scheduling.models import WeatherDay, WeatherStation

FARTHEST_STATION_KM: Final = 100.0  # common practice: beyond it the weather is another one
M_PER_KM: Final = 1000
_KM_PER_DEGREE: Final = 111.0  # of a meridian; a little short, so that the box is a little wide
_ALL_ROUND_DEG: Final = 180.0

_Floats = NDArray[np.float64]
Usual = TypeVar("Usual")


@dataclass(frozen=True)
class NearStation:
    """A station within reach of a property, how it stands to it, and its newest whole day."""

    station: WeatherStation
    rank: RankedStation
    last_date: dt.date | None

    @property
    def distance_m(self) -> float:
        return self.rank.distance_km * M_PER_KM

    @property
    def effective_distance_m(self) -> float:
        return self.rank.effective_km * M_PER_KM


def stations_near(property_: Property) -> tuple[NearStation, ...]:
    """Return the stations with weather within reach, the best first; there is at least one.

    The order is that of `station_choice.ranked_stations`; a day counts there when its ET0 is known.
    """
    here = _place_of(property_)
    rows = {station.code: station for station in _with_weather(here)}
    candidates = [_candidate(station) for station in rows.values()]
    near = ranked_stations(here, candidates, farthest_km=FARTHEST_STATION_KM)
    if not near:
        raise RefusedError(
            f"No weather station with weather lies within {FARTHEST_STATION_KM:g} km.",
            code="no-station", field="latitude",
            remedy="Register a station near the property and import its days.",
        )  # fmt: skip
    last_dates = {candidate.code: candidate.last_date for candidate in candidates}
    return tuple(NearStation(rows[rank.code], rank, last_dates[rank.code]) for rank in near)


def station_of(property_: Property) -> WeatherStation:
    """Return the station that speaks for the property."""
    return stations_near(property_)[0].station


def place_of_station(station: WeatherStation) -> Place:
    """Return where a station stands."""
    return Place(station.latitude, station.longitude, station.elevation_m)


def climate_of(station: WeatherStation) -> Climate:
    """Return the usual year of a station out of all its stored days."""
    return _as_state(lambda: _usual_months(_columns_of(station), station.latitude))


def daily_climate_of(station: WeatherStation) -> DailyClimate:
    """Return the usual year of a station day by day."""
    return _as_state(lambda: _usual_days(_columns_of(station)))


def usual_year_of(station: WeatherStation) -> tuple[Climate, DailyClimate]:
    """Return both out of one reading of the days."""
    columns = _columns_of(station)
    return _as_state(lambda: (_usual_months(columns, station.latitude), _usual_days(columns)))


def _place_of(property_: Property) -> Place:
    if property_.latitude is None or property_.longitude is None:
        raise RefusedError(
            "The property has no position, so its weather is unknown.",
            code="no-position", field="latitude",
            remedy="Enter the property's latitude and longitude.",
        )  # fmt: skip
    return Place(property_.latitude, property_.longitude, property_.elevation_m)


def _with_weather(here: Place) -> QuerySet[Any]:
    """Stations in a box around the place, with their newest whole day and whether they have many.

    The day by which a station has enough is read off its index, not counted: thirty years of days
    cost no more than five.
    """
    days = WeatherDay.objects.filter(station=OuterRef("pk"))
    whole = days.filter(et0_mm__isnull=False)
    enough = whole.order_by("date").values("date")[ENOUGH_DAYS - 1 : ENOUGH_DAYS]
    return WeatherStation.objects.filter(_box(here), Exists(days), retired_at=None).annotate(
        newest_date=Subquery(whole.order_by("-date").values("date")[:1]),
        enough_date=Subquery(enough),
    )


def _box(here: Place) -> Q:
    """Narrow by what an index can tell; at the poles and the date line by latitude alone."""
    reach = FARTHEST_STATION_KM / _KM_PER_DEGREE
    north = Q(latitude__range=(here.latitude_deg - reach, here.latitude_deg + reach))
    steepest = min(abs(here.latitude_deg) + reach, 90.0)
    narrow = math.cos(math.radians(steepest))
    wide = reach / narrow if narrow > reach / _ALL_ROUND_DEG else _ALL_ROUND_DEG
    west, east = here.longitude_deg - wide, here.longitude_deg + wide
    if west < -_ALL_ROUND_DEG or east > _ALL_ROUND_DEG:
        return north
    return north & Q(longitude__range=(west, east))


def _candidate(station: Any) -> Candidate:
    return Candidate(
        code=station.code,
        place=place_of_station(station),
        last_date=station.newest_date,
        has_enough_days=station.enough_date is not None,
    )


def _columns_of(station: WeatherStation) -> dict[str, NDArray[Any]]:
    names = ("tmin_c", "tmax_c", "rain_mm", "et0_mm")
    rows: Sequence[tuple[Any, ...]] = list(
        station.days.order_by("date").values_list("date", *names)
    )
    if not rows:
        raise RefusedError(
            f"The station {station.code} has no weather.",
            code="no-weather", field="station", remedy="Import its daily file first.",
        )  # fmt: skip
    dates, *columns = zip(*rows, strict=True)
    return {
        "dates": np.array(dates, dtype="datetime64[D]"),
        **{
            name: np.array(column, dtype=np.float64)
            for name, column in zip(names, columns, strict=True)
        },
    }


def _usual_months(columns: dict[str, NDArray[Any]], latitude_deg: float) -> Climate:
    return monthly_climate(**columns, latitude_deg=latitude_deg)


def _usual_days(columns: dict[str, NDArray[Any]]) -> DailyClimate:
    names = ("dates", "et0_mm", "rain_mm")
    return daily_climate(**{name: columns[name] for name in names})


def _as_state(computed: Callable[[], Usual]) -> Usual:
    """Turn a lack in what is stored from a wrong input into a refusal."""
    try:
        return computed()
    except InvalidInputError as lack:
        raise RefusedError(
            lack.detail, code=lack.code, field="station", remedy=lack.remedy
        ) from lack
