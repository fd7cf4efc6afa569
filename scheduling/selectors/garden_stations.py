"""By which station many gardens go: that of their plan, else the nearest with a fresh forecast.

A garden without a plan has pipes and sprinklers too; it must be in use, and where it lies known.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection
from uuid import UUID

from django.db.models import Exists, OuterRef

from properties.models import Property, Zone
from scheduling.domain.station_choice import Place, effective_distance_km
from scheduling.models import ForecastDay, WeatherStation
from scheduling.selectors.forecasts import oldest_told
from scheduling.selectors.night_inputs import newest_plans
from scheduling.selectors.weather import FARTHEST_STATION_KM, place_of_station

Places = dict[UUID, Place]


def stations_of_gardens(
    property_ids: Collection[UUID], *, today: dt.date, now: dt.datetime
) -> dict[UUID, UUID]:
    """Return the station of each garden in use that has one, in three queries however many."""
    stations = _of_plans(property_ids)
    others = _places_in_use(set(property_ids) - stations.keys())
    if not others:
        return stations
    with_forecast = ForecastDay.objects.filter(
        station=OuterRef("pk"), date__gte=today, document__issued_at__gte=oldest_told(now)
    )
    near = {
        station.pk: place_of_station(station)
        for station in WeatherStation.objects.filter(Exists(with_forecast), retired_at=None)
    }
    return stations | {
        pk: station for pk, here in others.items() if (station := _nearest(here, near)) is not None
    }


def _of_plans(property_ids: Collection[UUID]) -> dict[UUID, UUID]:
    rows = newest_plans().filter(zone__property__in=property_ids, station__retired_at=None)
    stations: dict[UUID, UUID] = {}
    ordered = rows.order_by("zone__number", "zone_id")
    for pk, station in ordered.values_list("zone__property", "station"):
        stations.setdefault(pk, station)
    return stations


def _places_in_use(property_ids: Collection[UUID]) -> Places:
    """Return where those gardens lie that have a zone in use."""
    in_use = Zone.objects.filter(property=OuterRef("pk"), is_active=True)
    rows = Property.objects.filter(Exists(in_use), pk__in=property_ids)
    values = rows.values_list("pk", "latitude", "longitude", "elevation_m")
    return {
        pk: Place(latitude, longitude, high)
        for pk, latitude, longitude, high in values
        if latitude is not None and longitude is not None
    }


def _nearest(here: Place, stations: Places) -> UUID | None:
    away = [(effective_distance_km(here, there), pk) for pk, there in stations.items()]
    km, nearest = min(away, default=(float("inf"), None))
    return nearest if km <= FARTHEST_STATION_KM else None
