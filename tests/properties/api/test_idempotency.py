"""The same POST under the same key is done once and answered twice."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import IdempotencyKey, Job
from properties.services import idempotency, ticks
from properties.services.idempotency import KEPT, forget_old_answers
from tests import cast
from tests.problems import row_counts
from tests.properties.api.bodies import API
from tests.writes import keyed

KEY = keyed("8e03978e-40d5-43dd-bc93-6894a57f9324")


@pytest.fixture
def plans(garden) -> str:
    return f"{API}/properties/{garden.pk}/plans"


def test_work_is_asked_for_once_however_often_it_is_sent(office_api, plans):
    first = office_api.post(plans, headers=KEY)
    Job.objects.update(state="done")  # without the key a second one would be made now
    before = row_counts()

    again = office_api.post(plans, headers=KEY)

    assert (first.status_code, again.status_code) == (202, 202)
    assert again.json() == first.json()
    assert row_counts() == before
    assert office_api.post(plans, headers=keyed()).json()["id"] != first.json()["id"]


@pytest.mark.parametrize(
    "path",
    [
        "properties/{garden}/plans", "properties/{garden}/replays",
        "properties/{garden}/fit-programs", "controllers/{controller}/fit-programs",
        "visits/{visit}/audit-summary", "weather-stations/{station}/calibration",
        "weather-stations/{station}/fetch-forecast", "night-runs",
    ],
)  # fmt: skip
def test_what_makes_work_asks_for_a_key(office_api, zone, visit, path):
    ids = {
        "garden": zone.property_id, "controller": zone.controller_id, "visit": visit.pk,
        "station": cast.make_station().pk,
    }  # fmt: skip

    answer = office_api.post(f"{API}/{path}".format(**ids))

    assert (answer.status_code, answer.json()["code"]) == (400, "idempotency-key-missing")
    assert "Idempotency-Key" in answer.json()["detail"]
    assert not Job.objects.exists()


def test_another_request_under_the_key_is_refused(office_api, plans, controller, garden):
    office_api.post(plans, headers=KEY)
    before = row_counts()

    for answer in (
        office_api.post(f"{API}/properties/{garden.pk}/replays", headers=KEY),
        office_api.post(plans, {"more": 1}, headers=KEY),
        office_api.post(f"{plans}?x=1", headers=KEY),
    ):
        assert (answer.status_code, answer.json()["code"]) == (422, "key-reused")
    assert row_counts() == before


def test_the_key_is_the_callers_own(office_api, technician_api, visit, plans):
    office_api.post(plans, headers=KEY)
    finish = f"{API}/visits/{visit.pk}/finish"

    answer = technician_api.post(finish, headers=KEY)

    assert answer.status_code == 200
    assert IdempotencyKey.objects.count() == 2


def test_a_refusal_is_judged_again(office_api, zone):
    fit = f"{API}/controllers/{zone.controller_id}/fit-programs"

    refused = [office_api.post(fit, headers=KEY) for _ in range(2)]

    assert [answer.status_code for answer in refused] == [409, 409]
    assert not IdempotencyKey.objects.exists()


@pytest.mark.parametrize("key", ["", " ", "x" * 256, "naïve", "two\twords"])
def test_an_odd_key_is_refused(office_api, plans, key):
    answer = office_api.post(plans, headers={"Idempotency-Key": key})

    assert (answer.status_code, answer.json()["code"]) == (400, "idempotency-key-invalid")


def test_quoted_and_bare_it_is_the_same_key(office_api, plans):
    bare = office_api.post(plans, headers=keyed("k-1")).json()

    assert office_api.post(plans, headers=keyed('"k-1"')).json() == bare


def test_a_move_is_answered_again_with_the_row_as_it_stands(technician_api, visit):
    finish = f"{API}/visits/{visit.pk}/finish"

    first = technician_api.post(finish, headers=KEY)
    again = technician_api.post(finish, headers=KEY)
    bare = technician_api.post(finish)

    assert (first.status_code, again.status_code, bare.status_code) == (200, 200, 409)
    assert again.json() == first.json()


def test_a_row_without_an_id_of_its_own_is_made_once_and_no_value_is_kept(office_api, body_of):
    first = office_api.post(f"{API}/customers", body_of["customers"], headers=KEY)
    again = office_api.post(f"{API}/customers", body_of["customers"], headers=KEY)

    assert (again.status_code, again.json()) == (201, first.json())
    assert IdempotencyKey.objects.get().body == {"id": first.json()["id"]}


@pytest.mark.parametrize(
    "path",
    [
        "staff/{0}/tokens", "zones/bulk", "imports/{0}/write", "repair-tickets/{0}/prove",
    ],
)  # fmt: skip
def test_where_no_answer_is_kept_a_key_is_refused(office_api, technician, path):
    answer = office_api.post(f"{API}/{path}".format(technician.pk), {"label": "Phone"}, headers=KEY)

    assert (answer.status_code, answer.json()["code"]) == (400, "idempotency-key-useless")


def test_who_may_not_ask_learns_nothing_of_keys(technician_api, anonymous_api, visit, plans):
    assert technician_api.post(plans).status_code == 403
    assert anonymous_api.post(plans).status_code == 401


def test_who_dies_before_the_answer_leaves_neither_work_nor_answer(office_api, plans, monkeypatch):
    """The effect and the answer are one transaction: here it breaks between the two."""

    def broken(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(idempotency, "keep_answer", broken)
    with pytest.raises(KeyboardInterrupt):
        office_api.post(plans, headers=KEY)
    monkeypatch.undo()

    assert not Job.objects.exists()
    assert office_api.post(plans, headers=KEY).status_code == 202


def test_answers_are_kept_for_thirty_days_and_forgotten(office_api, plans, monkeypatch):
    office_api.post(plans, headers=KEY)

    assert forget_old_answers(now=cast.NOW + KEPT) == 0
    later = cast.NOW + KEPT + dt.timedelta(seconds=1)
    monkeypatch.setattr(idempotency, "FORGOTTEN_AT_ONCE", 1)
    assert forget_old_answers(now=later) == 1
    assert forget_old_answers(now=later) == 0
    assert not IdempotencyKey.objects.exists()


def test_old_answers_are_looked_at_each_minute():
    assert ticks._TICKS["old answers"] is forget_old_answers
