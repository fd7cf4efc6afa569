"""Licences over the API."""

from __future__ import annotations

import pytest

from properties.models import Event, Licence
from tests import cast
from tests.problems import pointers, row_counts
from tests.properties.api.bodies import API

URL = f"{API}/licences"


def body(technician, **changes):
    values = {
        "staff": str(technician.pk), "kind": "irrigation technician", "number": "L-7",
        "valid_from": "2026-01-01", "valid_until": "2026-12-31",
    }  # fmt: skip
    return {**values, **changes}


def test_the_office_notes_a_licence_and_reads_it_back(office_api, technician):
    made = office_api.post(URL, body(technician))

    assert made.status_code == 201
    assert office_api.get(f"{URL}/{made.json()['id']}").json() == made.json()
    assert made.json().items() >= body(technician).items()
    assert Event.objects.get(act="licensed").subject_id == Licence.objects.get().pk


def test_nobody_else_sees_or_writes_licences(technician_api, anonymous_api, technician):
    for api, status in ((technician_api, 403), (anonymous_api, 401)):
        assert api.get(URL).status_code == status
        assert api.post(URL, body(technician)).status_code == status
    assert not Licence.objects.exists()


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"valid_until": "2025-12-31"}, "/valid_until"),
        ({"number": ""}, "/number"),
        ({"staff": "00000000-0000-7000-8000-000000000000"}, "/staff"),
        ({"colour": "green"}, "/colour"),
    ],
)
def test_a_licence_that_cannot_be_is_refused(office_api, technician, changes, pointer):
    before = row_counts()

    answer = office_api.post(URL, body(technician, **changes))

    assert (answer.status_code, pointers(answer)) == (400, [pointer])
    assert row_counts() == before


def test_the_office_itself_holds_no_licence_and_a_number_stands_once(
    office_api, office, technician
):
    office_api.post(URL, body(technician))
    before = row_counts()

    by_office = office_api.post(URL, body(office, number="L-8"))
    twice = office_api.post(URL, body(technician))

    assert pointers(by_office) == ["/staff"]
    assert twice.status_code == 400
    assert row_counts() == before


def test_an_id_that_is_taken_is_refused(office_api, technician):
    taken = str(cast.make_licence(technician).pk)

    answer = office_api.post(URL, body(technician, id=taken))

    assert (answer.status_code, pointers(answer)) == (400, ["/id"])
    assert Licence.objects.count() == 1


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    office_api, technician, django_assert_num_queries
):
    cast.make_licence(technician)
    queries = 3  # token, company, rows
    with django_assert_num_queries(queries):
        office_api.get(URL)
    for number in range(2, 11):
        cast.make_licence(technician, number=f"L-{number}")

    with django_assert_num_queries(queries):
        assert len(office_api.get(URL).json()["results"]) == 10
