"""The weather of a property as a picture, over the API."""

from __future__ import annotations

import datetime as dt
from xml.etree import ElementTree

import pytest

from tests import cast
from tests.problems import pointers, row_counts
from tests.scheduling.weather_rows import YESTERDAY, make_days, make_near_station

pytestmark = pytest.mark.usefixtures("visit")


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN")
    make_days(station)
    return station


def address(property_, query=""):
    return f"/api/v1/properties/{property_.pk}/weather-picture?{query}"


@pytest.mark.parametrize(("query", "unit"), [("units=us", "in"), ("units=metric", "mm")])
def test_the_picture_is_svg_in_the_units_asked_for(technician_api, garden, main, query, unit):
    answer = technician_api.get(address(garden, query))

    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    assert answer["Cache-Control"] == "private, no-store"
    root = ElementTree.fromstring(answer.content)  # noqa: S314 -- ours
    texts = {element.text for element in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"Rain and ET0: Holm garden", f"rain of a day [{unit}]"} <= texts


def test_it_may_be_asked_for_by_its_type_and_problems_stay_json(technician_api, garden, main):
    asked = {"HTTP_ACCEPT": "image/svg+xml"}

    assert technician_api.get(address(garden), **asked).status_code == 200
    main.days.all().delete()
    problem = technician_api.get(address(garden), **asked)
    assert (problem.status_code, pointers(problem)) == (409, ["/latitude"])


def test_who_may_see_it_and_nothing_is_written(
    office_api, technician_api, outsider_api, anonymous_api, garden, main
):
    before = row_counts()

    callers = (office_api, technician_api, outsider_api, anonymous_api)

    assert [api.get(address(garden)).status_code for api in callers] == [200, 200, 404, 401]
    assert row_counts() == before


def test_it_takes_few_queries(technician_api, garden, main, django_assert_num_queries):
    # token, company of the scope, property, company of the units, stations, days
    with django_assert_num_queries(6):
        technician_api.get(address(garden))


@pytest.fixture
def callers(office_api, outsider_api, anonymous_api):
    return office_api, outsider_api, anonymous_api


def test_the_store_of_a_zone_is_a_picture_too(technician_api, callers, visit, zone, main):
    cast.make_catch_test(visit, zone)
    make_days(main, last=YESTERDAY - dt.timedelta(days=400), count=1100)
    picture = f"/api/v1/zones/{zone.pk}/water-picture?units=metric"

    answer = technician_api.get(picture)

    assert (answer.status_code, answer["Content-Type"]) == (200, "image/svg+xml")
    root = ElementTree.fromstring(answer.content)  # noqa: S314 -- ours
    texts = {element.text for element in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {
        "Water held by the roots: 1 Front lawn",
        "full",
        "below this the plants lack water",
    } <= (texts)
    assert [api.get(picture).status_code for api in callers] == [200, 404, 401]
