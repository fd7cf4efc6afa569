"""Tests that are superseded or voided: kept as they were, and out of force."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from audits.models import CatchTest
from audits.selectors.zones import ruling_tests
from properties.models import Event
from tests import cast
from tests.audits.api.catch_bodies import WAYS
from tests.conftest import client_of
from tests.problems import pointers, row_counts

URL = "/api/v1/catch-tests"
HOUR = dt.timedelta(hours=1)
BODY = WAYS["depths"][0]


@pytest.fixture
def earlier(visit, zone):
    return cast.make_catch_test(visit, zone, taken_at=cast.NOW - 2 * HOUR)


@pytest.fixture
def newest(visit, zone):
    return cast.make_catch_test(visit, zone, taken_at=cast.NOW - HOUR)


@pytest.fixture
def replace(technician_api, visit, zone):
    def replace(test, **changes):
        body = {"visit": visit.pk, "zone": zone.pk, "supersedes": test.pk, **BODY, **changes}
        return technician_api.post(URL, body)

    return replace


def rules(zone):
    test = ruling_tests([zone.pk]).get(zone.pk)
    return test and str(test.pk)


def test_a_voided_test_makes_the_one_before_it_rule_and_stays_as_it_was(
    office_api, zone, earlier, newest
):
    before = CatchTest.objects.values().get(pk=newest.pk)

    answer = office_api.post(f"{URL}/{newest.pk}/void", {"reason": " Cups stood in the shade. "})

    content = answer.json()
    assert (answer.status_code, content["void_reason"]) == (200, "Cups stood in the shade.")
    assert content["voided_at"] == "2026-06-10T15:00:00Z"
    assert rules(zone) == str(earlier.pk)
    after = CatchTest.objects.values().get(pk=newest.pk)
    changed = {name for name in before if before[name] != after[name]}
    assert changed == {"voided_at", "void_reason", "revision"}
    event = Event.objects.get(subject_id=newest.pk)
    assert event.act == "voided"


def test_office_and_the_technician_of_the_visit_void_and_nobody_else(
    garden, outsider, callers, visit, zone
):
    tests = [cast.make_catch_test(visit, zone) for _ in callers]

    answers = [
        api.post(f"{URL}/{test.pk}/void", {"reason": "Wrong zone ran."}).status_code
        for api, test in zip(callers, tests, strict=True)
    ]

    assert answers == [200, 200, 404, 401]
    cast.make_visit(garden, outsider)
    colleague = client_of(outsider).post(f"{URL}/{tests[2].pk}/void", {"reason": "No."})
    assert (colleague.status_code, pointers(colleague)) == (409, ["/visit"])
    assert colleague.json()["code"] == "not-your-visit"


@pytest.mark.parametrize("body", [{}, {"reason": ""}, {"reason": "  "}, {"reason": "x" * 501},
                                  {"reason": "Wrong.", "rate": 1}])  # fmt: skip
def test_a_void_needs_a_reason_and_takes_nothing_else(office_api, newest, body):
    before = row_counts()

    answer = office_api.post(f"{URL}/{newest.pk}/void", body)

    assert (answer.status_code, pointers(answer)) == (
        400, ["/rate" if "rate" in body else "/reason"],
    )  # fmt: skip
    assert row_counts() == before


def test_a_test_is_voided_once(office_api, newest):
    office_api.post(f"{URL}/{newest.pk}/void", {"reason": "First."})

    again = office_api.post(f"{URL}/{newest.pk}/void", {"reason": "Second."})

    assert again.status_code == 409
    assert again.json()["code"] == "already-voided"
    assert "First." in again.json()["detail"]
    assert CatchTest.objects.get(pk=newest.pk).void_reason == "First."


def test_a_superseding_test_rules_and_voiding_it_puts_the_old_one_back(
    replace, office_api, zone, newest
):
    made = replace(newest).json()

    assert made["supersedes"] == str(newest.pk)
    assert rules(zone) == made["id"]
    office_api.post(f"{URL}/{made['id']}/void", {"reason": "Wrong zone ran."})
    assert rules(zone) == str(newest.pk)


def test_a_superseded_test_does_not_come_back_when_another_goes(
    replace, office_api, zone, earlier, newest
):
    replace(earlier, taken_at=(cast.NOW - 1.5 * HOUR).isoformat())

    office_api.post(f"{URL}/{newest.pk}/void", {"reason": "Wrong zone ran."})

    assert rules(zone) == str(CatchTest.objects.get(supersedes=earlier).pk)


def test_a_place_that_a_voided_test_left_may_be_taken_again(replace, office_api, newest):
    first = replace(newest).json()
    office_api.post(f"{URL}/{first['id']}/void", {"reason": "Wrong zone ran."})

    assert replace(newest).status_code == 201


@pytest.mark.parametrize(
    ("how", "status", "code"),
    [
        ("another zone", 400, "another-zone"), ("earlier than it", 400, "supersedes-later"),
        ("voided", 409, "superseded-voided"), ("superseded", 409, "already-superseded"),
    ],
)  # fmt: skip
def test_what_may_not_be_superseded_is_refused_by_name(
    replace, controller, newest, how, status, code
):
    changes = {}
    if how == "another zone":
        changes = {"zone": cast.make_zone(controller, number=2).pk}
    if how == "earlier than it":
        changes = {"taken_at": (cast.NOW - 1.5 * HOUR).isoformat()}
    if how == "voided":
        CatchTest.objects.filter(pk=newest.pk).update(voided_at=cast.NOW, void_reason="x")
    if how == "superseded":
        replace(newest)
    before = row_counts()

    answer = replace(newest, **changes)

    (error,) = answer.json()["errors"]
    assert (answer.status_code, error["pointer"]) == (status, "/supersedes")
    assert error["code"] == code
    assert error["remedy"]
    assert row_counts() == before


def test_the_database_holds_one_successor_that_counts(visit, zone, newest):
    cast.make_catch_test(visit, zone, supersedes=newest)

    with pytest.raises(IntegrityError), transaction.atomic():
        cast.make_catch_test(visit, zone, supersedes=newest)
    cast.make_catch_test(
        visit, zone, supersedes=newest, voided_at=cast.NOW, void_reason="Wrong zone ran."
    )


def test_a_test_of_a_stranger_looks_like_an_unknown_one(replace, newest, other_garden, technician):
    elsewhere = cast.make_zone(cast.make_controller(other_garden))
    started = cast.make_visit_under_way(
        other_garden, cast.make_technician("nils@meadowlark.example", name="Nils")
    )
    foreign = cast.make_catch_test(started, elsewhere)

    answer = replace(foreign)

    assert (answer.status_code, pointers(answer)) == (400, ["/supersedes"])
