"""Places near a point on the globe: a box that holds the circle, and the distance on the sphere."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

EARTH_RADIUS_M: Final = 6_371_008.8
"""Mean radius (2a + b)/3 of the WGS 84 ellipsoid; distances are within 0.6 % of those on it."""


@dataclass(frozen=True)
class LongitudeSpan:
    """From west to east [deg]."""

    west_deg: float
    east_deg: float


@dataclass(frozen=True)
class Box:
    """Latitudes from south to north, and spans of longitude: two where the dateline parts it."""

    south_deg: float
    north_deg: float
    spans: tuple[LongitudeSpan, ...]


def box_around(latitude_deg: float, longitude_deg: float, radius_m: float) -> Box:
    """Return a box that holds every point within a distance.

    Parameters
    ----------
    latitude_deg : float
        Latitude of the middle [deg], -90 to 90.
    longitude_deg : float
        Longitude of the middle [deg], -180 to 180.
    radius_m : float
        Distance on the sphere [m], above 0.

    Notes
    -----
    The circle reaches furthest east not at the latitude of its middle but nearer the pole, by
    asin(sin r / cos latitude) (spherical trigonometry of the tangent meridian). A circle that holds
    a pole meets all longitudes.
    """
    reach_deg = math.degrees(radius_m / EARTH_RADIUS_M)
    south, north = latitude_deg - reach_deg, latitude_deg + reach_deg
    if south <= -90 or north >= 90:
        return Box(max(south, -90.0), min(north, 90.0), (LongitudeSpan(-180.0, 180.0),))
    sine = math.sin(math.radians(reach_deg)) / math.cos(math.radians(latitude_deg))
    width = math.degrees(math.asin(min(1.0, sine)))
    return Box(south, north, _spans(longitude_deg - width, longitude_deg + width))


def _spans(west: float, east: float) -> tuple[LongitudeSpan, ...]:
    if west < -180:
        return LongitudeSpan(west + 360, 180.0), LongitudeSpan(-180.0, east)
    if east > 180:
        return LongitudeSpan(west, 180.0), LongitudeSpan(-180.0, east - 360)
    return (LongitudeSpan(west, east),)
