"""Savings over the API, by each kind of person."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.models import Replay
from tests import cast
from tests.problems import pointers
from tests.scheduling.replay_rows import make_answer, make_readings, make_setting

FIRST = dt.date(2018, 1, 1)
NOBODY = "019eb20c-2180-7000-b948-6029bb675bdc"


@pytest.fixture
def ready(tested, zone):
    make_setting(zone.controller, {zone: 20})
    make_readings(zone.property, FIRST, [40_000.0 + 500 * (number % 3) for number in range(17)])
    make_readings_after(zone.property)
    return zone


def make_readings_after(garden):
    readings = garden.meter_readings.order_by("-read_at")
    start, total = readings[0].read_at, readings[0].reading_l
    for number in range(1, 18):
        garden.meter_readings.create(
            read_at=start + dt.timedelta(days=30 * number),
            reading_l=total + number * 20_000.0 + 300 * (number % 2), **cast.ROW,
        )  # fmt: skip


def address(property_, query="change_date=2019-05-26&units=metric"):
    return f"/api/v1/properties/{property_.pk}/savings?{query}"


def test_the_saving_is_told_with_its_interval_and_what_it_stands_on(office_api, garden, ready):
    content = office_api.get(address(garden)).json()

    assert content["saved"]["unit"] == "L"
    assert (
        content["saved_low"]["value"] < content["saved"]["value"] < content["saved_high"]["value"]
    )
    assert content["saved"]["value"] > 0
    assert (content["readings"], content["zones"], content["missing"]) == (35, 1, [])
    # No setting is known of then, and it never freezes.
    assert content["base_told_by"] == "watered_periods"
    assert (content["promised"], content["verdict"]) == (None, None)


def test_a_base_and_a_promise_can_be_given(office_api, garden, ready, office):
    make_answer(garden, office)
    row = Replay.objects.get()

    content = office_api.get(
        address(garden, f"change_date=2019-05-26&base_l_day=300&replay={row.pk}&variant=ideal")
    ).json()

    assert content["base_a_day"]["unit"] == "gal"
    assert content["promised"]["value"] > 0
    assert content["verdict"] in ("kept", "more_than_promised", "less_than_promised")


def test_office_and_technician_read_and_strangers_do_not(callers, garden, ready):
    assert [api.get(address(garden)).status_code for api in callers] == [200, 200, 404, 401]


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("", "/change_date"),
        ("change_date=soon", "/change_date"),
        ("change_date=2019-05-26&reference=best", "/reference"),
        ("change_date=2019-05-26&base_l_day=-4", "/base_l_day"),
        ("change_date=2019-05-26&colour=1", "/colour"),
        (f"change_date=2019-05-26&replay={NOBODY}", "/variant"),
        ("change_date=2019-05-26&variant=ideal", "/replay"),
        (f"change_date=2019-05-26&replay={NOBODY}&variant=ideal", "/replay"),
        ("change_date=2019-05-26&units=royal", "/units"),
    ],
)
def test_each_wrong_value_is_named(office_api, garden, zone, query, pointer):
    answer = office_api.get(address(garden, query))

    assert answer.status_code == 400
    assert pointers(answer) == [pointer]


def test_more_zones_ask_the_database_no_more_often(office_api, garden, controller, visit, ready):
    def count():
        with CaptureQueriesContext(connection) as queries:
            assert office_api.get(address(garden)).status_code == 200
        return len(queries)

    few = count()
    for number in range(2, 6):
        cast.make_catch_test(visit, cast.make_zone(controller, number=number))

    assert count() == few
