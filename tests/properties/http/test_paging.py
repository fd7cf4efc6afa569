"""Pages are capped, newest first, and lose no row."""

from __future__ import annotations

import base64
import datetime as dt
from urllib.parse import urlencode

import pytest
import time_machine

from properties.models import Customer
from tests import cast

CUSTOMERS = "/api/v1/customers"


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


@pytest.mark.parametrize("cursor", ["rubbish", "p=1", "////"])
def test_a_damaged_cursor_is_the_callers_mistake(office_api, many, cursor):
    assert office_api.get(CUSTOMERS, {"cursor": cursor}).status_code in (400, 404)


def test_a_forged_cursor_is_the_callers_mistake(office_api, many):
    forged = base64.b64encode(urlencode({"p": "no id'); --"}).encode()).decode()

    assert office_api.get(CUSTOMERS, {"cursor": forged}).status_code == 400
