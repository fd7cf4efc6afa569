"""Every list of the API, out of the router: a new one is held to all of this by itself.

A list that no row is made for fails: `make_one_more_of_everything`, or `tests.list_rows`, must make
one.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from audits.models import VisitState
from config.urls import router
from properties.http.filters import filters_of
from properties.http.ordering import orders_of
from properties.models import Property, Zone
from scheduling.models import WeatherStation
from tests.list_rows import make_rows_for_lists
from tests.problems import pointers

pytestmark = pytest.mark.django_db
LISTS = {prefix: viewset for prefix, viewset, _ in router.registry if hasattr(viewset, "list")}
each_list = pytest.mark.parametrize("route", sorted(LISTS))
ONE_A_KIND = {"reminder-rules"}  # they come with their kinds, and no more are made
ORDERS = [(route, order) for route in sorted(LISTS) for order in orders_of(LISTS[route])]
POINT = {"near_latitude": 40.4, "near_longitude": -101.7, "within_m": 50_000}


@pytest.fixture
def more_rows(office, technician, garden):
    made = iter(range(1, 100))

    def make(count: int) -> None:
        for _ in range(count):
            make_rows_for_lists(next(made))

    return make


def address(route: str) -> str:
    return f"/api/v1/{route}"


def cost_of(api: Any, route: str, **query: Any) -> tuple[int, int]:
    api.get(address(route), query)  # what is read once in a process
    with CaptureQueriesContext(
        connection,
    ) as queries:
        answer = api.get(address(route), query)
    assert answer.status_code == 200, answer.content
    return len(queries), len(answer.json()["results"])


@each_list
def test_the_number_of_queries_does_not_grow_with_the_rows(office_api, more_rows, route):
    names = ",".join(getattr(LISTS[route], "expansions", {}))
    asked = [{"limit": 100}, {"limit": 100, "expand": names}] if names else [{"limit": 100}]
    more_rows(1)
    before = [cost_of(office_api, route, **query) for query in asked]

    more_rows(4)

    for query, (queries, rows) in zip(asked, before, strict=True):
        more_queries, more = cost_of(office_api, route, **query)
        assert rows >= 1, f"no row is made for {route}"
        assert route in ONE_A_KIND or more >= rows + 4, f"too few rows are made for {route}"
        assert more_queries == queries
        assert more_queries <= 8


def test_every_list_names_its_filters():
    by_fields = [route for route, view in LISTS.items() if getattr(view, "filterset_fields", None)]

    assert by_fields == []


@each_list
def test_an_unknown_parameter_is_refused_by_its_name(office_api, company, route):
    answer = office_api.get(address(route), {"colour": "green"})

    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert (error["pointer"], error["code"]) == ("/colour", "unknown-parameter")
    for name in (*filters_of(LISTS[route]), "limit", "cursor", "units"):
        assert name in error["detail"]


@each_list
def test_a_filter_that_says_nothing_or_is_said_twice_is_refused(office_api, company, route):
    for name in filters_of(LISTS[route]):
        assert pointers(office_api.get(f"{address(route)}?{name}=")) == [f"/{name}"]
        assert pointers(office_api.get(f"{address(route)}?{name}=1&{name}=1")) == [f"/{name}"]


@each_list
def test_every_filter_takes_a_value_and_refuses_what_none_can_be(office_api, more_rows, route):
    more_rows(1)
    for name, filter_ in filters_of(LISTS[route]).items():
        shape = type(filter_).__name__
        others = POINT if name in POINT else {}
        good, bad = SHAPES[shape](filter_)
        assert office_api.get(address(route), {**others, name: good}).status_code == 200, name
        for wrong in bad:
            answer = office_api.get(address(route), {**others, name: wrong})
            assert pointers(answer) == [f"/{name}"], (name, wrong)


SHAPES = {
    "IdFilter": lambda _: ("019eb20c-2180-7000-888f-e7446c67bf20", ["front", "1"]),
    "FlagFilter": lambda _: ("true", ["yes", "1"]),
    "WordFilter": lambda one: (_words_of(one), ["of-no-kind", "x\0"]),
    "TextFilter": lambda _: ("plain", ["x\0"]),
    "SearchFilter": lambda _: ("holm garden", ["x\0", "x" * 101]),
    "LeastFilter": lambda _: ("0.5", ["half", "nan", "inf"]),
    "MostFilter": lambda _: ("0.5", ["half", "nan", "inf"]),
    "NumberFilter": lambda _: ("40", ["half", "nan", "1e9"]),
    "DateFilter": lambda _: ("2026-06-10", ["2026-02-30", "today"]),
    "FirstDateFilter": lambda _: ("2026-06-10", ["2026-02-30", "today"]),
    "LastDateFilter": lambda _: ("2026-06-10", ["2026-02-30", "today"]),
    "SinceFilter": lambda _: ("2026-06-10T15:00:00Z", ["noon"]),
}


def _words_of(filter_: Any) -> str:
    words = [str(word) for word, _ in _pairs(filter_.extra["choices"]) if word]
    return ",".join(words[:2])


def _pairs(choices: Any) -> Any:
    return getattr(choices, "choices", choices)


@pytest.mark.parametrize(("route", "order"), ORDERS)
def test_each_order_pages_through_all_rows_once_there_and_back(office_api, more_rows, route, order):
    more_rows(5)
    query = POINT if order == "distance" else {}
    for asked in (order, f"-{order}"):
        whole = ids_of(office_api.get(address(route), {"limit": 200, "ordering": asked, **query}))
        pages, last = walk(office_api, address(route), {"ordering": asked, "limit": 3, **query})
        back, _ = walk(office_api, last, {}, step="previous")

        assert len(whole) > 3
        assert [row for page in pages for row in page] == whole
        assert back == pages[::-1]
        assert len(set(whole)) == len(whole)
    downwards = whole
    upwards = ids_of(office_api.get(address(route), {"limit": 200, "ordering": order, **query}))
    assert upwards == downwards[::-1]


def ids_of(answer: Any) -> list[Any]:
    assert answer.status_code == 200, answer.content
    return [next(iter(row.values())) for row in answer.json()["results"]]


def walk(api: Any, url: str, query: dict[str, Any], *, step: str = "next") -> tuple[list[Any], str]:
    """Follow the pages of a list to its end; return their ids, and the address of the last."""
    pages, answer = [], api.get(url, query)
    while True:
        pages.append(ids_of(answer))
        further = answer.json()[step]
        if further is None:
            return pages, url
        url, answer = further, api.get(further)


@each_list
def test_an_unknown_order_is_refused_by_naming_the_orders(office_api, company, route):
    answer = office_api.get(address(route), {"ordering": "id"})

    assert pointers(answer) == ["/ordering"]
    assert all(order in answer.json()["errors"][0]["detail"] for order in orders_of(LISTS[route]))


def test_rows_are_made_for_lists_of_houses(office_api, more_rows):
    """The rows that the tests above rest on hold what they are meant to hold."""
    more_rows(3)

    assert Property.objects.filter(visits__state=VisitState.FINISHED).exists()
    assert Zone.objects.filter(catch_tests__du_lq__isnull=True, catch_tests__cups=12).exists()
    assert WeatherStation.objects.filter(days__isnull=True).exists()
