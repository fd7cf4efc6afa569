"""A symptom with the water record of its zone, over the API."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

import pytest

from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts
from tests.scheduling.selectors.test_water_accounts import set_down
from tests.scheduling.weather_rows import make_days, make_near_station


@pytest.fixture
def tested(visit, zone):
    make_days(make_near_station("ZZMAIN"), count=1500)
    return cast.make_catch_test(visit, zone)


@pytest.fixture
def symptom(visit, zone, tested):
    set_down(zone, dt.date(2026, 1, 1), 10, range(7))
    return field_rows.make_symptom(visit, zone, spot="everywhere")


def address(symptom, query="units=metric"):
    return f"/api/v1/symptoms/{symptom.pk}/with-record?{query}"


def test_the_record_and_what_it_says_are_told(technician_api, zone, symptom):
    content = technician_api.get(address(symptom)).json()

    assert (content["symptom"], content["zone"]) == (str(symptom.pk), str(zone.pk))
    assert (content["kind"], content["spot"]) == ("drought_stress", "everywhere")
    assert (content["first_date"], content["last_date"]) == ("2026-05-13", "2026-06-09")
    record = content["record"]
    # Arithmetic: 10 min a day at 40 mm/h for 28 days, of which 0.85 reach the roots.
    assert record["applied"] == {"value": pytest.approx(158.67, abs=0.01), "unit": "mm"}
    assert (record["days"], record["stress_days"], record["supply"]) == (28, 0, "too_much")
    assert record["drainage"]["value"] > 0.25 * record["need"]["value"]
    assert content["record_unknown"] is None
    assert content["found_verdict"] == "too_much"
    water = content["water"]
    assert (water["explains"], water["confidence"]) == ("too_much", "medium")
    assert "Water and rain of the past weeks came to too much for the need." in water["evidence"]
    assert "extension office" in water["ask"]


def test_the_audits_own_answer_knows_no_record(technician_api, symptom):
    water = technician_api.get(f"/api/v1/symptoms/{symptom.pk}").json()["water"]

    assert water["explains"] == "unknown"
    assert not [said for said in water["evidence"] if "past weeks" in said]


def test_the_depths_are_in_the_units_asked_for(office_api, symptom):
    us = office_api.get(address(symptom, "units=us")).json()["record"]["need"]
    metric = office_api.get(address(symptom)).json()["record"]["need"]

    assert us["unit"] == "in"
    assert us["value"] * 25.4 == pytest.approx(metric["value"], abs=0.01)


def test_without_setting_and_weather_the_answer_is_unknown_and_says_why(
    technician_api, visit, zone
):
    symptom = field_rows.make_symptom(visit, zone)

    answer = technician_api.get(address(symptom))

    content = answer.json()
    assert (answer.status_code, content["record"]) == (200, None)
    assert content["record_unknown"] == {
        "code": "no-setting",
        "sentence": "No setting is known, so nobody knows what was put down.",
    }
    assert (content["found_verdict"], content["water"]["explains"]) == ("unknown", "unknown")


def test_bad_units_and_an_unknown_symptom_are_refused(technician_api, symptom):
    answer = technician_api.get(address(symptom, "units=feet"))

    assert (answer.status_code, pointers(answer)) == (400, ["/units"])
    assert technician_api.get(f"/api/v1/symptoms/{uuid4()}/with-record").status_code == 404


def test_who_may_read_and_nothing_is_written(callers, symptom):
    before = row_counts()

    assert [api.get(address(symptom)).status_code for api in callers] == [200, 200, 404, 401]
    assert row_counts() == before


def test_more_settings_and_tests_take_no_more_queries(
    technician_api, visit, zone, symptom, django_assert_max_num_queries
):
    def grow(month):
        set_down(zone, dt.date(2026, month, 1), 20, range(7))
        cast.make_catch_test(visit, zone)
        cast.make_heads(zone)

    grow(1)
    with django_assert_max_num_queries(40) as first:
        technician_api.get(address(symptom))
    for month in (2, 3, 4):
        grow(month)

    with django_assert_max_num_queries(len(first)):
        assert technician_api.get(address(symptom)).status_code == 200
