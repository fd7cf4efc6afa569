"""Which weather a property has, and what is usual there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
from django.db.models import Exists, OuterRef

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Property
from scheduling.domain.climate import Climate, monthly_climate
from scheduling.domain.distance import great_circle_km
from scheduling.models import WeatherDay, WeatherStation

FARTHEST_STATION_KM: Final = 100.0  # common practice: beyond it the weather is another one


def station_of(property_: Property) -> WeatherStation:
    """Return the nearest station that has any weather."""
    if property_.latitude is None or property_.longitude is None:
        raise RefusedError(
            "The property has no position, so its weather is unknown.",
            code="no-position", field="latitude",
            remedy="Enter the property's latitude and longitude.",
        )  # fmt: skip
    here = (property_.latitude, property_.longitude)
    measured = WeatherStation.objects.filter(
        Exists(WeatherDay.objects.filter(station=OuterRef("pk")))
    )
    near = min(
        ((_distance_km(here, station), station.code, station) for station in measured), default=None
    )
    if near is None or near[0] > FARTHEST_STATION_KM:
        raise RefusedError(
            f"No weather station with weather lies within {FARTHEST_STATION_KM:g} km.",
            code="no-station", field="latitude",
            remedy="Register a station near the property and import its days.",
        )  # fmt: skip
    return near[2]


def climate_of(station: WeatherStation) -> Climate:
    """Return the usual year of a station out of all its stored days."""
    days: Iterable[tuple[Any, ...]] = station.days.order_by("date").values_list(
        "date", "tmin_c", "tmax_c", "rain_mm"
    )
    rows = list(days)
    if not rows:
        raise RefusedError(
            f"The station {station.code} has no weather.",
            code="no-weather", field="station", remedy="Import its daily file first.",
        )  # fmt: skip
    try:
        return _usual_year(rows, station.latitude)
    except InvalidInputError as lack:
        raise RefusedError(
            lack.detail, code=lack.code, field="station", remedy=lack.remedy
        ) from lack


def _usual_year(rows: Sequence[tuple[Any, ...]], latitude_deg: float) -> Climate:
    dates, *columns = zip(*rows, strict=True)
    tmin_c, tmax_c, rain_mm = (np.array(column, dtype=np.float64) for column in columns)
    return monthly_climate(
        np.array(dates, dtype="datetime64[D]"),
        tmin_c=tmin_c,
        tmax_c=tmax_c,
        rain_mm=rain_mm,
        latitude_deg=latitude_deg,
    )


def _distance_km(here: tuple[float, float], station: WeatherStation) -> float:
    return great_circle_km(here, (station.latitude, station.longitude))
