"""Properties near a point."""

from __future__ import annotations

import math
from functools import reduce
from operator import or_

from django.db.models import F, FloatField, Q, QuerySet, Value
from django.db.models.functions import ASin, Cos, Least, Power, Radians, Sin, Sqrt

from properties.domain.nearness import EARTH_RADIUS_M, box_around
from properties.models import Property


def properties_near(
    rows: QuerySet[Property], *, latitude: float, longitude: float, within_m: float
) -> QuerySet[Property]:
    """Narrow properties to those within a distance of a point, each with its `distance_m`.

    The box lets the index of the positions serve; the distance on the sphere decides.
    """
    box = box_around(latitude, longitude, within_m)
    spans = (Q(longitude__gte=span.west_deg, longitude__lte=span.east_deg) for span in box.spans)
    inside = rows.filter(
        reduce(or_, spans), latitude__gte=box.south_deg, latitude__lte=box.north_deg
    )
    distance = _distance_m(latitude, longitude)
    return inside.annotate(distance_m=distance).filter(distance_m__lte=within_m)


def _distance_m(latitude: float, longitude: float) -> ASin:
    """Return the great-circle distance as the database computes it, by the haversine.

    The haversine is exact for near points, where the cosine rule loses all digits.
    """
    along = Sin(Radians(F("latitude") - latitude) / 2.0)
    across = Sin(Radians(F("longitude") - longitude) / 2.0)
    cosines = Cos(Radians(F("latitude"))) * math.cos(math.radians(latitude))
    half_chord = Power(along, 2.0) + cosines * Power(across, 2.0)
    within_one = Least(Sqrt(half_chord), Value(1.0), output_field=FloatField())
    distance: ASin = ASin(within_one) * (2.0 * EARTH_RADIUS_M)  # type: ignore[assignment]
    return distance
