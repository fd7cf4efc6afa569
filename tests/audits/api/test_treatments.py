"""Treatments over the API: what they ask of the water, and when two of them contradict."""

from __future__ import annotations

import pytest

from audits.models import Treatment
from properties.models import Event
from tests import cast
from tests.audits import field_rows
from tests.problems import pointers, row_counts

URL = "/api/v1/treatments"
WATER_IN = {
    "kind": "water_in", "label": "Grub control", "applied_at": "2026-06-10T12:00:00Z",
    "until": "2026-06-11T12:00:00Z", "at_most": {"value": 0.25, "unit": "in"},
}  # fmt: skip
HOLD = {
    "kind": "hold_water", "label": "Weed control", "applied_at": "2026-06-10T14:00:00Z",
    "until": "2026-06-12T14:00:00Z",
}  # fmt: skip


@pytest.fixture
def send(technician_api, visit, zone):
    def post(body, **changes):
        place = {"property": str(visit.property_id), "visit": str(visit.pk), "zone": str(zone.pk)}
        return technician_api.post(URL, {**place, **body, **changes})

    return post


@pytest.fixture
def effect(technician_api, zone):
    def get(at, units="metric"):
        url = f"/api/v1/zones/{zone.pk}/treatment-effect?at={at}&units={units}"
        return technician_api.get(url).json()

    return get


def test_a_treatment_comes_back_as_it_was_recorded(send):
    made = send(WATER_IN)

    assert made.status_code == 201
    assert made.json().items() >= WATER_IN.items()
    assert (made.json()["is_called_off"], made.json()["conflicts_with"]) == (False, [])
    assert Treatment.objects.get().at_most_mm == pytest.approx(6.35)


def test_the_effect_lasts_from_the_application_until_its_end(send, effect):
    made = send(WATER_IN).json()

    early, first, last, late = (
        effect(at)
        for at in (
            "2026-06-10T11:59:59Z", "2026-06-10T12:00:00Z", "2026-06-11T11:59:59Z",
            "2026-06-11T12:00:00Z",
        )
    )  # fmt: skip

    assert [answer["effect"] for answer in (early, first, last, late)] == [
        "none", "water_in", "water_in", "none",
    ]  # fmt: skip
    assert first["at_most"] == {"value": 6.35, "unit": "mm"}
    assert effect("2026-06-10T12:00:00Z", "us")["at_most"] == {"value": 0.25, "unit": "in"}
    assert first["treatments"] == [made["id"]]
    assert first["labels"] == ["What the product label says binds over this: Grub control."]
    assert (early["at_most"], early["treatments"], late["treatments"]) == (None, [], [])


def test_hold_wins_over_water_in_and_both_tell_of_their_conflict(send, effect, technician_api):
    wet = send(WATER_IN).json()
    dry = send(HOLD).json()

    assert dry["conflicts_with"] == [wet["id"]]
    assert technician_api.get(f"{URL}/{wet['id']}").json()["conflicts_with"] == [dry["id"]]
    both = effect("2026-06-10T15:00:00Z")
    assert (both["effect"], both["at_most"]) == ("hold", None)
    assert both["treatments"] == [wet["id"], dry["id"]]


def test_the_least_of_two_depths_holds(send, effect):
    send(WATER_IN)
    send(WATER_IN, at_most={"value": 5, "unit": "mm"})

    assert effect("2026-06-10T13:00:00Z")["at_most"] == {"value": 5.0, "unit": "mm"}


def test_a_treatment_of_the_whole_property_reaches_every_zone_and_no_other_property(
    send, effect, controller, technician, other_garden, office_api
):
    second = cast.make_zone(controller, number=2)
    elsewhere = cast.make_zone(cast.make_controller(other_garden))
    whole = send(HOLD, zone=None).json()
    other = send(WATER_IN, zone=str(second.pk)).json()

    assert effect("2026-06-10T15:00:00Z")["treatments"] == [whole["id"]]
    assert other["conflicts_with"] == [whole["id"]]
    url = f"/api/v1/zones/{elsewhere.pk}/treatment-effect?at=2026-06-10T15:00:00Z"
    assert office_api.get(url).json()["effect"] == "none"


def test_treatments_of_different_zones_or_times_do_not_conflict(send, controller):
    second = cast.make_zone(controller, number=2)
    send(WATER_IN)

    beside = send(HOLD, zone=str(second.pk)).json()
    after = send(HOLD, applied_at="2026-06-11T12:00:00Z").json()

    assert (beside["conflicts_with"], after["conflicts_with"]) == ([], [])


def test_what_is_called_off_asks_nothing_more_and_stays(send, effect, technician_api, technician):
    wet, dry = send(WATER_IN).json(), send(HOLD).json()

    answer = technician_api.post(f"{URL}/{dry['id']}/call-off")

    assert (answer.status_code, answer.json()["is_called_off"]) == (200, True)
    assert (answer.json()["conflicts_with"], answer.json()["revision"]) == ([], 2)
    assert effect("2026-06-10T15:00:00Z")["effect"] == "water_in"
    assert technician_api.get(f"{URL}/{wet['id']}").json()["conflicts_with"] == []
    event = Event.objects.get(subject_id=dry["id"], act="called off")
    assert (event.actor, event.after) == (technician, {"is_called_off": True})
    again = technician_api.post(f"{URL}/{dry['id']}/call-off")
    assert (again.status_code, pointers(again)) == (409, ["/is_called_off"])
    assert Treatment.objects.count() == 2


def test_who_may_call_off(send, office_api, outsider, outsider_api, anonymous_api, garden):
    made = send(HOLD).json()
    url = f"{URL}/{made['id']}/call-off"

    assert anonymous_api.post(url).status_code == 401
    assert outsider_api.post(url).status_code == 404
    cast.make_visit(garden, outsider)
    colleague = outsider_api.post(url)
    assert (colleague.status_code, pointers(colleague)) == (409, ["/visit"])
    assert Treatment.objects.filter(is_called_off=False).exists()
    assert office_api.post(url).status_code == 200


def test_a_technician_calls_nothing_off_that_the_office_recorded(technician_api, visit, zone):
    of_office = field_rows.make_treatment(visit, zone)
    Treatment.objects.update(visit=None)

    answer = technician_api.post(f"{URL}/{of_office.pk}/call-off")

    assert (answer.status_code, answer.json()["code"]) == (409, "not-your-visit")


@pytest.mark.parametrize(
    ("body", "changes", "where", "cure"),
    [
        (WATER_IN, {"at_most": None}, "/at_most", "Enter the depth that the label allows"),
        (WATER_IN, {"at_most": {"value": 0, "unit": "in"}}, "/at_most", "Enter a number from 0.1"),
        (WATER_IN, {"at_most": {"value": 2, "unit": "in"}}, "/at_most", "to 50 mm"),
        (WATER_IN, {"at_most": {"value": 1, "unit": "psi"}}, "/at_most", "Use one of"),
        (HOLD, {"at_most": {"value": 5, "unit": "mm"}}, "/at_most", "Leave the depth out"),
        (HOLD, {"until": HOLD["applied_at"]}, "/until", "Give an end after the application"),
        (HOLD, {"label": " "}, "/label", ""),
        (HOLD, {"label": None}, "/label", ""),
        (HOLD, {"kind": "soak"}, "/kind", ""),
        (HOLD, {"applied_at": None}, "/applied_at", ""),
        (HOLD, {"is_called_off": True}, "/is_called_off", "cannot be set"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name_with_a_cure(send, body, changes, where, cure):
    before = row_counts()

    answer = send(body, **changes)

    assert (answer.status_code, pointers(answer)) == (400, [where])
    (error,) = answer.json()["errors"]
    assert cure in f"{error['detail']} {error.get('remedy', '')}"
    assert row_counts() == before


def test_who_may_ask_for_the_effect(
    office_api, technician_api, outsider_api, anonymous_api, visit, zone
):
    url = f"/api/v1/zones/{zone.pk}/treatment-effect"

    people = (office_api, technician_api, outsider_api, anonymous_api)
    assert [api.get(url).status_code for api in people] == [200, 200, 404, 401]
    assert technician_api.get(url).json()["at"] == "2026-06-10T15:00:00Z"
    odd = technician_api.get(f"{url}?at=noon")
    assert (odd.status_code, pointers(odd)) == (400, ["/at"])


def test_the_list_takes_as_many_queries_for_ten_as_for_one(
    technician_api, visit, zone, controller, django_assert_num_queries
):
    field_rows.make_treatment(visit, zone)
    queries = 5  # token, company (units, and day of the scope), rows, their conflicts
    with django_assert_num_queries(queries):
        technician_api.get(URL)
    for number in range(2, 11):
        field_rows.make_treatment(visit, cast.make_zone(controller, number=number))

    with django_assert_num_queries(queries):
        assert len(technician_api.get(URL).json()["results"]) == 10
