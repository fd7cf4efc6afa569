"""Bucket tests over the API."""

from __future__ import annotations

import pytest

from audits.models import BucketTest
from tests.audits import field_rows
from tests.problems import pointers, row_counts

URL = "/api/v1/bucket-tests"


@pytest.fixture
def send(technician_api, visit, zone):
    def post(body, query=""):
        sent = {"visit": str(visit.pk), "zone": str(zone.pk), **body}
        return technician_api.post(f"{URL}{query}", sent)

    return post


def test_five_gallons_in_half_a_minute_are_ten_in_a_minute(send):
    body = {"volume": {"value": 5, "unit": "gal"}, "seconds": 30}

    made = send(body)

    assert made.status_code == 201
    assert made.json()["volume"] == body["volume"]
    assert made.json()["flow"] == {"value": 10.0, "unit": "gpm"}
    assert BucketTest.objects.get().flow_l_min == pytest.approx(37.85411784)


@pytest.mark.parametrize(
    ("changes", "where", "cure"),
    [
        ({"volume": {"value": 0, "unit": "L"}}, "/volume", "Enter a number from 0.01"),
        ({"volume": {"value": 1001, "unit": "L"}}, "/volume", "to 1000 L"),
        ({"volume": {"value": 5, "unit": "psi"}}, "/volume", "Use one of"),
        ({"volume": None}, "/volume", ""),
        ({"seconds": 0}, "/seconds", "Enter a number from 1"),
        ({"seconds": 3601}, "/seconds", "to 3600 s"),
        ({"seconds": "nan"}, "/seconds", "number"),
        ({"seconds": -30}, "/seconds", "Enter a number from 1"),
        ({"volume": {"value": 900, "unit": "L"}, "seconds": 1}, "/seconds", "to 20000 L/min"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name_with_a_cure(send, changes, where, cure):
    before = row_counts()

    answer = send({"volume": {"value": 10, "unit": "L"}, "seconds": 30, **changes})

    assert (answer.status_code, pointers(answer)) == (400, [where])
    (error,) = answer.json()["errors"]
    assert cure in f"{error['detail']} {error.get('remedy', '')}"
    assert row_counts() == before


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, visit, zone, django_assert_num_queries
):
    field_rows.make_bucket_test(visit, zone)
    queries = 4  # token, company (units, and day of the scope), rows
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for _ in range(9):
        field_rows.make_bucket_test(visit, zone)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10
