"""Distances on the globe."""

from __future__ import annotations

import math
from typing import Final

EARTH_RADIUS_KM: Final = 6371.0088  # mean radius, IUGG


def great_circle_km(from_deg: tuple[float, float], to_deg: tuple[float, float]) -> float:
    """Return the great-circle distance [km] between two places (latitude, longitude) [deg].

    References
    ----------
    Haversine formula; sphere of the Earth's mean radius, good to 0.5 %.
    """
    (lat1, lon1), (lat2, lon2) = (
        (math.radians(latitude), math.radians(longitude))
        for latitude, longitude in (from_deg, to_deg)
    )
    half_chord = (
        math.sin((lat2 - lat1) / 2) ** 2
        + math.cos(lat1) * math.cos(lat2) * math.sin((lon2 - lon1) / 2) ** 2
    )
    return 2 * EARTH_RADIUS_KM * math.asin(min(1.0, math.sqrt(half_chord)))
