"""Pages are capped, in a unique order, and lose no row."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
import time_machine
from django.core.signing import Signer

from properties.models import Customer, Property
from tests import cast
from tests.problems import pointers

CUSTOMERS, PROPERTIES = "/api/v1/customers", "/api/v1/properties"


@pytest.fixture
def many(company):
    rows = [Customer(name=f"Client {number:03}", **cast.ROW) for number in range(205)]
    return Customer.objects.bulk_create(rows)


@pytest.mark.parametrize(
    ("asked", "given"), [("10000", 200), ("201", 200), ("200", 200), ("7", 7), ("", 50)]
)
def test_a_page_is_as_long_as_asked_but_never_over_two_hundred(office_api, many, asked, given):
    page = office_api.get(CUSTOMERS, {"limit": asked} if asked else {}).json()

    assert len(page["results"]) == given


@pytest.mark.parametrize("asked", ["0", "-1", "abc", "1e9", "١٠"])
def test_a_nonsense_limit_never_lifts_the_cap(office_api, many, asked):
    answer = office_api.get(CUSTOMERS, {"limit": asked})

    assert answer.status_code == 200
    assert len(answer.json()["results"]) <= 50


def names_of(api: Any, url: str | None, step: str = "next") -> list[str]:
    """Follow the pages of a list and return the names that were met."""
    met: list[str] = []
    while url:
        page = api.get(url).json()
        met += [row["name"] for row in page["results"]]
        url = page[step]
    return met


def test_following_the_pages_meets_every_row_once_and_newest_first(office_api, many):
    url, met = f"{CUSTOMERS}?limit=60", []
    while url:
        page = office_api.get(url).json()
        met += [row["id"] for row in page["results"]]
        url = page["next"]

    assert len(met) == 205
    assert met == sorted(met, reverse=True)
    assert set(met) == {str(row.pk) for row in many}


def test_a_row_that_comes_while_paging_shifts_nothing(office_api, many):
    page = office_api.get(f"{CUSTOMERS}?limit=200").json()
    with time_machine.travel(cast.NOW + dt.timedelta(seconds=1)):  # ids are ordered by time
        cast.make_customer(name="Newcomer", email="")

    rest = office_api.get(page["next"]).json()

    assert len(rest["results"]) == 5


def test_rows_that_come_and_go_shift_no_page_of_an_order(office_api, many):
    first = office_api.get(f"{CUSTOMERS}?ordering=name&limit=100").json()
    cast.make_customer(name="Client 000a", email="")  # before what was read
    Customer.objects.filter(name__in=["Client 003", "Client 099"]).delete()  # the last one too

    rest = names_of(office_api, first["next"])

    assert rest == [f"Client {number:03}" for number in range(100, 205)]


def test_rows_of_one_value_are_parted_by_their_id(office_api, company):
    Customer.objects.bulk_create(Customer(name="Same", **cast.ROW) for _ in range(7))

    for ordering in ("name", "-name"):
        url, met = f"{CUSTOMERS}?ordering={ordering}&limit=2", []
        while url:
            page = office_api.get(url).json()
            met += [row["id"] for row in page["results"]]
            url = page["next"]
        assert met == sorted(met, reverse=ordering.startswith("-"))
        assert len(set(met)) == 7


def test_rows_without_a_value_stand_at_their_end_on_every_page(office_api, garden):
    days = [None, dt.date(2024, 5, 1), None, dt.date(2023, 5, 1), None]
    for number, day in enumerate(days):
        cast.make_property(garden.customer, name=f"P{number}", backflow_tested_on=day)
    url = f"{PROPERTIES}?ordering=backflow_tested_on&limit=2"

    met = names_of(office_api, url)
    back = names_of(office_api, url.replace("=backflow", "=-backflow"))

    assert (set(met[:4]), met[4:]) == ({"Holm garden", "P0", "P2", "P4"}, ["P3", "P1"])
    assert back == met[::-1]


def test_the_way_back_leads_over_the_same_pages(office_api, many):
    first = office_api.get(f"{CUSTOMERS}?ordering=name&limit=90").json()
    second = office_api.get(first["next"]).json()
    third = office_api.get(second["next"]).json()

    again = office_api.get(third["previous"]).json()
    start = office_api.get(again["previous"]).json()

    assert (again["results"], start["results"]) == (second["results"], first["results"])
    assert (first["previous"], third["next"], start["previous"]) == (None, None, None)


def test_the_length_and_the_units_may_change_from_page_to_page(office_api, many):
    page = office_api.get(f"{CUSTOMERS}?ordering=name&limit=100").json()

    rest = office_api.get(page["next"].replace("limit=100", "limit=7") + "&units=metric").json()

    assert [row["name"] for row in rest["results"]] == [f"Client {n:03}" for n in range(100, 107)]


def refusal_of(answer: Any) -> str:
    assert (answer.status_code, pointers(answer)) == (400, ["/cursor"])
    detail: str = answer.json()["errors"][0]["detail"]
    return detail


@pytest.mark.parametrize("cursor", ["", "rubbish", "p=1", "////", "W10:x", "a\0b", "é"])
def test_a_damaged_cursor_is_refused_with_its_cure(office_api, many, cursor):
    assert "begin anew" in refusal_of(office_api.get(CUSTOMERS, {"cursor": cursor}))


def cursor_of(api: Any, query: str) -> str:
    url: str = api.get(f"{CUSTOMERS}?limit=5&{query}").json()["next"]
    return url.partition("cursor=")[2].partition("&")[0]


@pytest.mark.parametrize(
    "other",
    ["", "ordering=-name", "ordering=created_at", "ordering=name&relation=owner",
     "ordering=name&retired=true", "ordering=name&search=client"],
)  # fmt: skip
def test_a_cursor_of_another_order_or_filter_is_refused(office_api, many, other):
    cursor = cursor_of(office_api, "ordering=name")

    refusal_of(office_api.get(f"{CUSTOMERS}?{other}&cursor={cursor}"))


def test_a_cursor_of_another_list_is_refused(office_api, many):
    cursor = cursor_of(office_api, "ordering=name")

    refusal_of(office_api.get(f"{PROPERTIES}?ordering=name&cursor={cursor}"))


def test_a_forged_cursor_is_refused(office_api, many):
    forged = Signer(key="a guess", salt="x").sign_object([0, "no id'); --", "x"])

    refusal_of(office_api.get(CUSTOMERS, {"cursor": forged}))


def test_a_technician_pages_through_his_own_rows_alone(technician_api, visit):
    for number in range(3):
        cast.make_property(name=f"Foreign {number}")
        cast.make_visit(cast.make_property(name=f"Mine {number}"), visit.technician)

    met = names_of(technician_api, f"{PROPERTIES}?ordering=name&limit=1")

    assert met == ["Holm garden", "Mine 0", "Mine 1", "Mine 2"]
    assert Property.objects.count() == 7
