"""Catch tests end to end: sent as they were read, computed, stored, given back as entered."""

from __future__ import annotations

import math

import pytest

from audits.models import CatchTest, CupReading
from properties.models import Event
from tests import cast
from tests.audits.api.catch_bodies import WAYS
from tests.conftest import client_of
from tests.problems import pointers, row_counts

URL = "/api/v1/catch-tests"


@pytest.fixture
def send(technician_api, visit, zone):
    def send(body, query=""):
        return technician_api.post(f"{URL}{query}", {"visit": visit.pk, "zone": zone.pk, **body})

    return send


def number_of(answer, name):
    value = answer[name]
    return value["value"] if isinstance(value, dict) else value


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(("system", "depth_unit", "mm"), [("us", "in", 25.4), ("metric", "mm", 1)])
def test_all_four_ways_compute_what_the_sums_say(send, way, system, depth_unit, mm):
    body, expected = WAYS[way]

    answer = send(body, f"?units={system}")

    content = answer.json()
    assert answer.status_code == 201, content
    assert content["mean_depth"]["unit"] == depth_unit
    assert {content[name]["unit"] for name in ("rate", "rate_low", "rate_high")} == {
        f"{depth_unit}/h"
    }
    for name, value in expected.items():
        in_units = value / mm if name in ("mean_depth", "rate", "rate_low", "rate_high") else value
        found = number_of(content, name)
        assert found == (None if value is None else pytest.approx(in_units, rel=1e-5)), name
    assert content["is_pooled"] is way.startswith("pooled")
    assert content["cups"] == body.get("pooled_cups") or len(content["readings"])


@pytest.mark.parametrize("way", WAYS)
def test_what_was_entered_comes_back_exactly(send, technician_api, way):
    body, _ = WAYS[way]
    quantities = {name: value for name, value in body.items() if isinstance(value, dict)}

    made = send(body).json()

    for query in ("", "?units=us", "?units=metric"):
        again = technician_api.get(f"{URL}/{made['id']}{query}").json()
        assert again["as_entered"] == quantities
        assert again["run_min"] == body["run_min"]


def test_sending_back_what_was_entered_makes_the_same_test(send):
    body, _ = WAYS["volumes, one area"]
    first = send(body).json()

    again = send({**body, **first["as_entered"]}).json()

    differ = {name for name in first if first[name] != again[name]}
    assert differ == {"id"}


def test_readings_stand_in_order_with_their_places(send):
    depths = [5, 7, 9]
    positions = [
        {"x": {"value": x, "unit": "m"}, "y": {"value": y, "unit": "m"}}
        for x, y in ((0, 0), (2.5, 0), (0, 3))
    ]
    body = {
        "run_min": 10, "cup_shape": "straight_walled",
        "depths": {"unit": "mm", "values": depths}, "positions": positions,
    }  # fmt: skip

    readings = send(body, "?units=metric").json()["readings"]

    assert readings == [
        {"number": number, "depth": {"value": depth, "unit": "mm"}, **place}
        for number, (depth, place) in enumerate(zip(depths, positions, strict=True), start=1)
    ]
    assert list(CupReading.objects.values_list("x_m", "y_m")) == [(0, 0), (2.5, 0), (0, 3)]


def test_without_places_the_readings_have_none(send):
    body, _ = WAYS["depths"]

    readings = send(body).json()["readings"]

    assert {(reading["x"], reading["y"]) for reading in readings} == {(None, None)}


@pytest.mark.parametrize("way", ["depths", "pooled depth"])
def test_refuses_places_that_do_not_match_the_cups(send, way):
    body, _ = WAYS[way]
    place = {"value": 1, "unit": "m"}
    before = row_counts()

    answer = send({**body, "positions": [{"x": place, "y": place}]})

    assert (answer.status_code, pointers(answer)) == (400, ["/positions"])
    assert row_counts() == before


def test_the_moment_is_now_unless_it_was_sent_and_the_caller_may_choose_the_id(send):
    body, _ = WAYS["depths"]
    identity = "0190a000-0000-7000-8000-00000000beef"

    now = send(body).json()
    told = send({**body, "taken_at": "2026-06-10T08:30:00-05:00", "id": identity}).json()

    assert now["taken_at"] == "2026-06-10T15:00:00Z"
    assert told["taken_at"] == "2026-06-10T13:30:00Z"
    assert told["id"] == identity
    again = send({**body, "id": identity})
    assert (again.status_code, pointers(again)) == (409, ["/id"])


def test_a_test_is_remembered_with_who_made_it(send, technician):
    body, _ = WAYS["depths"]

    made = send(body).json()

    event = Event.objects.get(subject_id=made["id"])
    assert (event.act, event.actor) == ("tested", technician)


def test_wind_comes_back_as_entered_beside_its_advice(send):
    body, _ = WAYS["depths"]

    windy = send({**body, "wind": {"value": 9, "unit": "mph"}}).json()
    calm = send({**body, "wind": {"value": 4.9, "unit": "mph"}}).json()

    assert windy["wind"] == {"value": 9, "unit": "mph"}
    assert "wind" not in windy["as_entered"]
    assert "wind-too-high" in {advice["code"] for advice in windy["advice"]}
    assert "wind-too-high" not in {advice["code"] for advice in calm["advice"]}


def test_advice_has_a_sentence_and_a_source(send):
    body, _ = WAYS["depths"]

    advice = send({**body, "cups_level": False}).json()["advice"]

    assert {entry["code"] for entry in advice} >= {"too-few-cups", "uneven-cups"}
    assert all(entry["sentence"] and entry["source"] for entry in advice)


@pytest.mark.parametrize(
    ("changes", "status", "where"),
    [
        ({"depths": None}, 400, ["/depths"]),
        ({"pooled_cups": 4, "pooled_depth": {"value": 9, "unit": "mm"}}, 400, ["/pooled_depth"]),
        ({"volumes": {"unit": "mL", "values": [40]}}, 400, ["/volumes"]),
        ({"taken_at": "2026-06-11T15:00:01Z"}, 400, ["/taken_at"]),
        ({"cup_size": "big"}, 400, ["/cup_size"]),
        ({"cup_shape": "round"}, 400, ["/cup_shape"]),
        ({"depths": {"unit": "psi", "values": [1]}}, 400, ["/depths/values/0"]),
        ({"depths": {"unit": "mm", "values": [1, "2", 400]}}, 400,
         ["/depths/values/1", "/depths/values/2"]),
        ({"run_min": 0.1, "depths": {"unit": "mm", "values": [2, 2]}}, 400, ["/run_min"]),
        ({"run_min": 1440, "depths": {"unit": "mm", "values": [2, 2]}}, 400, ["/run_min"]),
        ({"throat_areas": {"unit": "cm2", "values": [90, 90]}}, 400, ["/throat_areas"]),
    ],
)  # fmt: skip
def test_a_refusal_names_the_field_that_was_sent(send, changes, status, where):
    body = {name: value for name, value in {**WAYS["depths"][0], **changes}.items() if value}
    before = row_counts()

    answer = send(body)

    assert (answer.status_code, pointers(answer)) == (status, where)
    assert row_counts() == before


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"pooled_volume": {"value": 0, "unit": "mL"}, "pooled_cups": 4}, "/pooled_volume"),
        ({"pooled_volume": {"value": 50, "unit": "L"}, "pooled_cups": 1}, "/pooled_volume"),
        ({"pooled_volume": {"value": 90, "unit": "mL"}}, "/pooled_cups"),
        ({"pooled_volume": {"value": 90, "unit": "mL"}, "pooled_cups": 0}, "/pooled_cups"),
        ({"volumes": {"unit": "mL", "values": [0, 0]}}, "/volumes"),
        ({"volumes": {"unit": "mL", "values": [9000]}}, "/volumes"),
    ],
)
def test_a_refused_volume_is_named_as_it_was_sent(send, body, where):
    area = {"throat_areas": {"unit": "cm2", "values": [100]}}

    answer = send({"run_min": 10, "cup_shape": "tapered", **area, **body})

    assert (answer.status_code, pointers(answer)) == (400, [where])
    assert answer.json()["remedy"]
    assert not CatchTest.objects.exists()


def test_refuses_a_zone_of_another_property_and_a_visit_not_under_way(
    office_api, technician, garden, other_garden, zone
):
    planned = cast.make_visit(garden, technician)
    strange = cast.make_zone(cast.make_controller(other_garden))
    started = cast.make_visit_under_way(garden, technician)
    body, _ = WAYS["depths"]

    foreign = office_api.post(URL, {"visit": started.pk, "zone": strange.pk, **body})
    early = office_api.post(URL, {"visit": planned.pk, "zone": zone.pk, **body})

    assert (foreign.status_code, pointers(foreign)) == (400, ["/zone"])
    assert (early.status_code, pointers(early)) == (409, ["/visit"])


def test_an_outsider_neither_records_nor_reads(outsider_api, anonymous_api, send, visit, zone):
    body, _ = WAYS["depths"]
    made = send(body).json()

    refused = outsider_api.post(URL, {"visit": visit.pk, "zone": zone.pk, **body})

    assert (refused.status_code, set(pointers(refused))) == (400, {"/visit", "/zone"})
    assert outsider_api.get(URL).json()["results"] == []
    assert outsider_api.get(f"{URL}/{made['id']}").status_code == 404
    assert anonymous_api.get(URL).status_code == 401
    assert anonymous_api.post(URL, {}).status_code == 401


def test_a_colleague_at_the_same_property_does_not_record_at_my_visit(
    outsider, garden, visit, zone
):
    cast.make_visit(garden, outsider)
    body, _ = WAYS["depths"]

    answer = client_of(outsider).post(URL, {"visit": visit.pk, "zone": zone.pk, **body})

    assert (answer.status_code, pointers(answer)) == (409, ["/visit"])
    assert answer.json()["code"] == "not-your-visit"


def test_filters_by_zone_visit_and_kind(technician_api, send, visit, zone, controller):
    second = cast.make_zone(controller, number=2)
    single, pooled = send(WAYS["depths"][0]).json(), send(WAYS["pooled depth"][0]).json()
    other = cast.make_catch_test(visit, second, before_mending=True)

    def ids(query):
        return {row["id"] for row in technician_api.get(f"{URL}?{query}").json()["results"]}

    assert ids(f"zone={zone.pk}") == {single["id"], pooled["id"]}
    assert ids("is_pooled=true") == {pooled["id"]}
    assert ids("before_mending=true") == {str(other.pk)}
    assert ids(f"visit={visit.pk}") == {single["id"], pooled["id"], str(other.pk)}


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, visit, zone, django_assert_num_queries
):
    cast.make_catch_test(visit, zone)
    queries = 5  # token, company (units, and day of the scope), rows, their cups
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for _ in range(9):
        cast.make_catch_test(visit, zone)

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10


def test_what_a_test_says_is_held_in_the_row(send):
    body, expected = WAYS["depths"]

    made = send({**body, "before_mending": True}).json()

    row = CatchTest.objects.get(pk=made["id"])
    assert row.rate_mm_h == pytest.approx(expected["rate"])
    assert (row.cups, row.is_pooled, row.before_mending) == (12, False, True)
    assert row.entered["depths_mm"] == body["depths"]


def test_a_test_says_how_many_cups_would_tell_the_rate_better(send):
    made = send(WAYS["depths"][0]).json()

    half_width = made["rate_high"]["value"] / made["rate"]["value"] - 1
    for name, wanted in (("cups_for_quarter", 0.25), ("cups_for_tenth", 0.10)):
        assert made[name] == math.ceil(made["cups"] * (half_width / wanted) ** 2 - 1e-4)
    assert made["run_time_multiplier"] == pytest.approx(1 / (0.4 + 0.6 * made["du_lq"]))


def test_a_pooled_test_has_no_multiplier_of_its_own(send):
    assert send(WAYS["pooled depth"][0]).json()["run_time_multiplier"] is None
