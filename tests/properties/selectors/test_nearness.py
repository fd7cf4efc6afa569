"""Properties near a point, by the great circle."""

from __future__ import annotations

from typing import Any

import pytest

from properties.domain.nearness import EARTH_RADIUS_M
from tests import cast
from tests.problems import pointers

URL = "/api/v1/properties"
DEGREE_M = 3.141592653589793 * EARTH_RADIUS_M / 180


@pytest.fixture
def near(office_api, company):
    def ask(latitude: float, longitude: float, within_m: float, **more: Any) -> list[str]:
        point = {"near_latitude": latitude, "near_longitude": longitude, "within_m": within_m}
        answer = office_api.get(URL, {**point, "ordering": "distance", **more})
        assert answer.status_code == 200, answer.content
        return [row["name"] for row in answer.json()["results"]]

    return ask


def make_at(**places: tuple[float, float] | None) -> None:
    client = cast.make_customer()
    for name, place in places.items():
        latitude, longitude = place or (None, None)
        cast.make_property(client, name=name, latitude=latitude, longitude=longitude)


def test_the_nearest_comes_first_and_what_is_farther_does_not_come(near):
    """On the equator a tenth of a degree is 11,120 m; at 60 degrees north half of it eastwards."""
    make_at(far=(0.0, 0.3), here=(0.0, 0.0), next=(0.0, 0.1), north=(0.2, 0.0), unplaced=None)

    assert near(0.0, 0.0, 25_000) == ["here", "next", "north"]
    assert near(0.0, 0.0, 25_000, ordering="-distance") == ["north", "next", "here"]


def test_the_corner_of_the_box_is_outside_of_the_circle(near):
    make_at(edge=(0.0, 0.099), corner=(0.09, 0.09))

    assert near(0.0, 0.0, 0.1 * DEGREE_M) == ["edge"]


def test_longitudes_narrow_towards_the_pole(near):
    """At 60 degrees north a degree of longitude is half as long, cos 60 = 1/2."""
    make_at(east=(60.0, 0.19), farther=(60.0, 0.21))

    assert near(60.0, 0.0, 0.1 * DEGREE_M) == ["east"]


def test_the_dateline_is_no_border(near):
    make_at(west=(-17.0, 179.95), east=(-17.0, -179.95), far=(-17.0, -178.0))

    assert sorted(near(-17.0, 180.0, 20_000)) == ["east", "west"]
    assert near(-17.0, -179.99, 20_000) == ["east", "west"]
    assert near(-17.0, 179.99, 20_000) == ["west", "east"]


def test_over_the_pole_it_is_near(near):
    make_at(over=(89.9, 160.0), beside=(89.9, -20.0), far=(88.0, -20.0))

    assert near(89.95, -20.0, 20_000) == ["beside", "over"]


def test_a_point_is_given_whole_or_not_at_all(office_api, garden):
    assert pointers(office_api.get(URL, {"near_latitude": 40, "within_m": 9})) == [
        "/near_longitude"
    ]
    assert pointers(office_api.get(URL, {"ordering": "distance"})) == ["/ordering"]


@pytest.mark.parametrize(
    ("name", "value"),
    [("near_latitude", 91), ("near_longitude", -181), ("within_m", 0), ("within_m", 10**6)],
)
def test_a_point_that_cannot_be_is_refused(office_api, garden, name, value):
    point = {"near_latitude": 40, "near_longitude": -101, "within_m": 100, name: value}

    assert pointers(office_api.get(URL, point)) == [f"/{name}"]


def test_a_technician_finds_near_him_only_his_own_houses(technician_api, visit, other_garden):
    point = {"near_latitude": 40.42, "near_longitude": -101.7, "within_m": 1000}

    found = technician_api.get(URL, point).json()["results"]

    assert [row["name"] for row in found] == ["Holm garden"]
