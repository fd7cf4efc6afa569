"""Meter readings over the API: a meter counts up, unless it was changed."""

from __future__ import annotations

import datetime as dt

import pytest

from audits.models import MeterReading
from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts

URL = "/api/v1/meter-readings"


@pytest.fixture
def send(technician_api, visit):
    def post(litres, day, **changes):
        return technician_api.post(
            URL,
            {
                "property": str(visit.property_id), "visit": str(visit.pk),
                "reading": {"value": litres, "unit": "L"}, "read_at": f"2026-06-{day:02}T12:00:00Z",
                **changes,
            },
        )  # fmt: skip

    return post


def test_a_reading_comes_back_as_entered(send):
    made = send(0, 1, reading={"value": 123456, "unit": "gal"}, note="At the street.")

    assert made.status_code == 201
    assert made.json()["reading"] == {"value": 123456, "unit": "gal"}
    assert (made.json()["note"], made.json()["meter_changed"]) == ("At the street.", False)
    assert MeterReading.objects.get().reading_l == pytest.approx(123456 * 3.785411784)


def test_readings_may_rise_or_stand_and_come_in_any_order(send):
    statuses = [send(litres, day).status_code for litres, day in [(100, 1), (300, 9), (200, 5)]]
    standing = send(300, 10)

    assert [*statuses, standing.status_code] == [201, 201, 201, 201]


@pytest.mark.parametrize(
    ("litres", "day", "words"),
    [
        (99, 5, "below the 100 L read at 2026-06-01 12:00 UTC"),
        (301, 5, "above the 300 L read later, at 2026-06-09 12:00 UTC"),
        (299, 10, "below the 300 L"),
    ],
)
def test_a_reading_out_of_order_is_refused_either_way(send, litres, day, words):
    send(100, 1)
    send(300, 9)
    before = row_counts()

    answer = send(litres, day)

    assert (answer.status_code, pointers(answer)) == (400, ["/reading"])
    (error,) = answer.json()["errors"]
    assert (error["code"], words in error["detail"]) == ("meter-ran-backwards", True)
    assert "set meter_changed on the later reading" in error["remedy"]
    assert row_counts() == before


def test_a_changed_meter_starts_anew_and_orders_what_comes_after_it(send):
    send(900, 1)

    changed = send(5, 5, meter_changed=True, note="New meter by the utility.")

    assert changed.status_code == 201
    assert send(950, 3).status_code == 201  # still the old meter
    assert send(4, 6).status_code == 400
    assert send(7, 6).status_code == 201


def test_a_changed_meter_that_now_reads_more_than_a_later_reading_is_refused(send):
    send(100, 1)
    send(300, 9)

    answer = send(400, 5, meter_changed=True, note="New meter.")

    assert (answer.status_code, pointers(answer)) == (400, ["/reading"])


def test_a_reading_is_held_against_the_very_next_one(send):
    send(300, 9)
    send(5, 10, meter_changed=True, note="New meter.")

    assert send(301, 5).status_code == 400
    assert send(299, 5).status_code == 201


def test_a_change_without_a_note_and_a_moment_read_twice_are_refused(send):
    send(100, 1)
    before = row_counts()

    silent = send(5, 5, meter_changed=True)
    twice = send(100, 1)

    assert (silent.status_code, pointers(silent)) == (400, ["/note"])
    assert (twice.status_code, pointers(twice)) == (400, ["/read_at"])
    assert row_counts() == before


def test_the_meters_of_two_properties_do_not_know_each_other(
    send, office_api, technician, other_garden
):
    send(900, 1)
    elsewhere = cast.make_visit_under_way(other_garden, technician)

    answer = send(5, 5, property=str(other_garden.pk), visit=str(elsewhere.pk))

    assert answer.status_code == 201


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"reading": {"value": -1, "unit": "L"}}, "/reading"),
        ({"reading": {"value": 1, "unit": "mm"}}, "/reading"),
        ({"reading": {"value": 2e9, "unit": "L"}}, "/reading"),
        ({"read_at": "yesterday"}, "/read_at"),
        ({"note": "x" * 201}, "/note"),
        ({"property": None}, "/property"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(send, changes, where):
    before = row_counts()

    answer = send(100, 1, **changes)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert row_counts() == before


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, visit, django_assert_num_queries
):
    field_rows.make_meter_reading(visit)
    queries = 4  # token, company (units, and day of the scope), rows
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for hour in range(1, 10):
        field_rows.make_meter_reading(visit, read_at=cast.NOW - dt.timedelta(hours=hour))

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10
