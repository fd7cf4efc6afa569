"""The price list over the API."""

from __future__ import annotations

import pytest

from audits.models import PriceItem
from properties.models import Event
from tests import cast
from tests.problems import pointers, row_counts

URL = "/api/v1/price-items"
NOZZLE = {"code": "NZ-1", "name": "Nozzle", "kind": "part", "unit": "piece", "price": "4.25"}


def test_the_office_lists_an_item_and_reads_it_back(office_api):
    made = office_api.post(URL, NOZZLE)

    assert made.status_code == 201
    assert made.json().items() >= (NOZZLE | {"is_active": True}).items()
    assert office_api.get(URL).json()["results"] == [made.json()]
    assert Event.objects.get(act="listed").subject_id == PriceItem.objects.get().pk


def test_nobody_else_reads_or_writes_prices(technician_api, anonymous_api):
    for api, status in ((technician_api, 403), (anonymous_api, 401)):
        assert api.get(URL).status_code == api.post(URL, NOZZLE).status_code == status
    assert not PriceItem.objects.exists()


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"price": "-1"}, "/price"),
        ({"price": "4.255"}, "/price"),
        ({"price": "NaN"}, "/price"),
        ({"kind": "favour"}, "/kind"),
        ({"code": "TAKEN"}, "/code"),
    ],
)
def test_an_item_that_cannot_be_is_refused(office_api, changes, pointer):
    cast.make_price_item(code="TAKEN")
    before = row_counts()

    answer = office_api.post(URL, NOZZLE | changes)

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert row_counts() == before


def test_the_list_takes_as_many_queries_for_ten_as_for_one(office_api, django_assert_num_queries):
    cast.make_price_item(code="C-0")
    queries = 3  # token, company, rows
    with django_assert_num_queries(queries):
        office_api.get(URL)
    for number in range(1, 10):
        cast.make_price_item(code=f"C-{number}")

    with django_assert_num_queries(queries):
        assert len(office_api.get(URL).json()["results"]) == 10
