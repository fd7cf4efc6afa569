"""Two at once on PostgreSQL: one wins, the other is told, and nothing is lost or done twice."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection

from properties.domain.ids import uuid7
from properties.models import Customer, Event, IdempotencyKey, Job, Zone
from properties.services import idempotency
from tests import cast
from tests.conftest import client_of
from tests.properties.api.bodies import API
from tests.writes import etag_of, if_match, keyed

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Do each in a thread of its own, all from the same moment on."""
    gate = threading.Barrier(len(acts))

    def run(act: Callable[[], Any]) -> Any:
        gate.wait()
        try:
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


@pytest.fixture
def offices(company):
    return [
        client_of(cast.make_office(f"office{number}@meadowlark.example")) for number in range(2)
    ]


def test_of_two_offices_that_edit_a_zone_one_wins_and_the_other_is_told(offices, zone):
    url = f"{API}/zones/{zone.pk}"
    wins = []

    for turn in range(8):
        read = if_match(etag_of(offices[0], url))
        bodies = [{"name": f"{turn} of {number}"} for number in range(2)]
        answers = at_once(
            *(
                lambda api=api, body=body, read=read: api.patch(url, body, headers=read)
                for api, body in zip(offices, bodies, strict=True)
            )
        )
        assert sorted(answer.status_code for answer in answers) == [200, 412]
        (won,) = [n for n, answer in enumerate(answers) if answer.status_code == 200]
        lost = answers[1 - won].json()
        assert (lost["code"], lost["revision"]) == ("changed-meanwhile", turn + 2)
        assert offices[0].get(url).json()["name"] == bodies[won]["name"]
        wins.append(bodies[won]["name"])

    zone.refresh_from_db()
    assert zone.revision == 9
    events = Event.objects.filter(subject_id=zone.pk, act="changed")
    assert sorted(event.after["name"] for event in events) == sorted(wins)


def test_a_row_that_is_sent_twice_at_once_is_made_once(offices):
    for turn in range(6):
        body = {"id": str(uuid7()), "name": "Tomas Brandt", "reference": f"C-{turn}"}
        answers = at_once(
            *(lambda api=api, body=body: api.post(f"{API}/customers", body) for api in offices)
        )
        assert sorted(answer.status_code for answer in answers) == [200, 201]
        assert answers[0].json() == answers[1].json()
    assert Customer.objects.count() == 6
    assert Event.objects.filter(act="created", subject_kind="properties.customer").count() == 6


def test_of_two_bodies_under_one_id_one_is_refused(offices):
    chosen = str(uuid7())

    answers = at_once(
        *(
            lambda api=api, name=name: api.post(f"{API}/customers", {"id": chosen, "name": name})
            for api, name in zip(offices, ("Ingrid", "Tomas"), strict=True)
        )
    )

    assert sorted(answer.status_code for answer in answers) == [201, 409]
    assert Customer.objects.count() == 1


def test_while_the_first_still_runs_the_second_is_told_to_wait(offices, garden, monkeypatch):
    """Then, with the first done, the same key gets its answer."""
    plans, key = f"{API}/properties/{garden.pk}/plans", keyed()
    begun, go_on = threading.Event(), threading.Event()
    keep = idempotency.keep_answer

    def slowly(*args, **named):
        begun.set()
        assert go_on.wait(20)
        keep(*args, **named)

    monkeypatch.setattr(idempotency, "keep_answer", slowly)

    def second():
        assert begun.wait(20)
        try:
            return offices[0].post(plans, headers=key)
        finally:
            go_on.set()

    first, waiting = at_once(lambda: offices[0].post(plans, headers=key), second)
    after = offices[0].post(plans, headers=key)

    assert first.status_code == 202
    assert (waiting.status_code, waiting.json()["code"]) == (409, "still-running")
    assert (after.status_code, after.json()) == (202, first.json())
    assert (Job.objects.count(), IdempotencyKey.objects.count()) == (1, 1)


def test_a_connection_that_is_killed_in_the_middle_leaves_nothing(offices, garden, monkeypatch):
    """The server ends the first one's session between effect and answer, as a crash would."""
    plans, key = f"{API}/properties/{garden.pk}/plans", keyed()
    keep = idempotency.keep_answer

    def die(*args, **named):
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_backend_pid()")
            (pid,) = cursor.fetchone()
        at_once(lambda: kill(pid))
        keep(*args, **named)

    monkeypatch.setattr(idempotency, "keep_answer", die)
    (died,) = at_once(lambda: offices[0].post(plans, headers=key))
    monkeypatch.undo()
    left = (Job.objects.count(), IdempotencyKey.objects.count())
    again = offices[0].post(plans, headers=key)

    assert died.status_code == 503
    assert left == (0, 0)
    assert again.status_code == 202
    assert (Job.objects.count(), Zone.objects.count()) == (1, 0)


def kill(pid: int) -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(%s)", [pid])
