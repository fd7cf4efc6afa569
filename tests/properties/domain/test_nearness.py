"""The box around a point holds the circle, over the dateline and the poles too."""

from __future__ import annotations

import math

import pytest

from properties.domain.nearness import EARTH_RADIUS_M, LongitudeSpan, box_around

DEGREE_M = math.pi * EARTH_RADIUS_M / 180
PLACES = [
    (40.4, -101.7),
    (0.0, 0.0),
    (-33.0, 179.9),
    (66.0, -179.95),
    (89.0, 20.0),
    (-89.9, -170.0),
]


def test_a_degree_of_the_mean_sphere_is_111_195_m():
    """Arithmetic: 2 pi 6,371,008.8 / 360."""
    assert pytest.approx(111_195.08, abs=0.01) == DEGREE_M


def reached(latitude: float, longitude: float, distance_m: float, bearing_deg: float):
    """Return where one comes to on a great circle, by the direct formula of the sphere."""
    along, bearing, start = distance_m / EARTH_RADIUS_M, *map(math.radians, (bearing_deg, latitude))
    sine = math.sin(start) * math.cos(along) + math.cos(start) * math.sin(along) * math.cos(bearing)
    end = math.asin(max(-1.0, min(1.0, sine)))
    east = math.atan2(
        math.sin(bearing) * math.sin(along) * math.cos(start),
        math.cos(along) - math.sin(start) * math.sin(end),
    )
    return math.degrees(end), (longitude + math.degrees(east) + 540) % 360 - 180


@pytest.mark.parametrize(("latitude", "longitude"), PLACES)
@pytest.mark.parametrize("radius_m", [1.0, 5_000.0, 100_000.0, 500_000.0])
def test_every_point_of_the_circle_is_in_the_box(latitude, longitude, radius_m):
    box = box_around(latitude, longitude, radius_m)

    for bearing in range(0, 360, 3):
        lat, lon = reached(latitude, longitude, radius_m * 0.999_999, bearing)
        assert box.south_deg <= lat <= box.north_deg
        assert any(span.west_deg <= lon <= span.east_deg for span in box.spans), bearing


def test_the_box_is_no_larger_than_it_must_be():
    box = box_around(60.0, 10.0, 100_000.0)
    (span,) = box.spans

    farthest = max(reached(60.0, 10.0, 100_000.0, bearing / 10)[1] for bearing in range(1800))
    assert span.east_deg == pytest.approx(farthest, abs=1e-4)
    assert box.north_deg - 60.0 == pytest.approx(100_000.0 / DEGREE_M)


def test_the_dateline_parts_the_box():
    west, east = box_around(0.0, 179.5, DEGREE_M).spans

    assert west == LongitudeSpan(pytest.approx(178.5), 180.0)
    assert east == LongitudeSpan(-180.0, pytest.approx(-179.5))


def test_a_circle_that_holds_a_pole_meets_all_longitudes():
    box = box_around(89.5, 20.0, DEGREE_M)

    assert (box.north_deg, box.spans) == (90.0, (LongitudeSpan(-180.0, 180.0),))
