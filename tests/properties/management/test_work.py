"""`manage.py work`."""

from __future__ import annotations

import datetime as dt
import signal
from io import StringIO
from uuid import uuid4

import pytest
import time_machine
from django.core.management import call_command
from django.db import OperationalError

from properties.management.commands import work
from properties.models import Job
from properties.services import jobs, ticks
from tests import cast

pytestmark = pytest.mark.django_db
KIND = "test-work"


@pytest.fixture(autouse=True)
def _signals():
    """Give the test process its own signal handlers back."""
    before = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    yield
    for number, handler in before.items():
        signal.signal(number, handler)


@pytest.fixture(autouse=True)
def done(monkeypatch) -> list:
    """Return the subjects that the handler has done."""
    subjects: list = []
    monkeypatch.setattr(work, "close_old_connections", lambda: None)
    monkeypatch.setitem(
        jobs._HANDLERS, KIND, lambda subject_id, now: {"count": subjects.append(subject_id)}
    )
    return subjects


def ask(**changes):
    return jobs.ask_for(KIND, uuid4(), asked_by=None, **{"now": cast.NOW, **changes})


def run(**options) -> str:
    out = StringIO()
    call_command("work", stdout=out, **options)
    return out.getvalue()


def test_all_due_work_is_done_the_oldest_first(done):
    second, first = ask(), ask(now=cast.NOW - dt.timedelta(hours=1))
    later = ask(now=cast.NOW + dt.timedelta(hours=1))

    said = run(once=True)

    assert done == [first.subject_id, second.subject_id]
    assert said.splitlines() == [
        f"{KIND} {first.subject_id}: done", f"{KIND} {second.subject_id}: done",
    ]  # fmt: skip
    assert Job.objects.get(pk=later.pk).state == "waiting"


def test_once_with_nothing_due_ends_at_once(done):
    assert run(once=True) == ""


def test_work_that_the_work_itself_asks_for_is_done_too(done, monkeypatch):
    def ask_for_more(subject_id, now):
        done.append(subject_id)
        if len(done) < 3:
            jobs.ask_for(KIND, uuid4(), asked_by=None, now=now)
        return {}

    monkeypatch.setitem(jobs._HANDLERS, KIND, ask_for_more)
    ask()

    run(once=True)

    assert len(done) == 3


def test_it_goes_on_until_it_is_stopped_and_pauses_when_idle(done, monkeypatch):
    pauses = []

    def pause(seconds):
        pauses.append(seconds)
        ask() if len(pauses) == 1 else signal.raise_signal(signal.SIGTERM)

    monkeypatch.setattr(work.time, "sleep", pause)

    run(pause=0.25)

    assert pauses == [0.25, 0.25]
    assert len(done) == 1


def test_between_two_jobs_it_stops_when_told(done, monkeypatch):
    def stop(subject_id, now):
        done.append(subject_id)
        signal.raise_signal(signal.SIGINT)
        return {}

    monkeypatch.setitem(jobs._HANDLERS, KIND, stop)
    ask()
    ask()

    run()

    assert len(done) == 1
    assert sorted(Job.objects.values_list("state", flat=True)) == ["done", "waiting"]


def test_a_job_ends_by_the_clock_and_not_by_its_beginning(monkeypatch):
    with time_machine.travel(cast.NOW, tick=False) as clock:
        monkeypatch.setitem(
            jobs._HANDLERS, KIND, lambda subject_id, now: {"took": clock.shift(90.0)}
        )
        ask()

        run(once=True)

    assert Job.objects.get().ended_at == cast.NOW + dt.timedelta(seconds=90)


def test_it_outlives_a_database_that_is_away(done, monkeypatch, caplog):
    real, answers = jobs.due_job_ids, [OperationalError("server is gone")]

    def flaky(*, now):
        if answers:
            raise answers.pop()
        return real(now=now)

    pauses = []

    def pause(seconds):
        pauses.append(seconds)
        if len(pauses) > 1:
            signal.raise_signal(signal.SIGTERM)

    monkeypatch.setattr(work.jobs, "due_job_ids", flaky)
    monkeypatch.setattr(work.connection, "close", lambda: None)
    monkeypatch.setattr(work.time, "sleep", pause)
    ask()

    run()

    assert len(done) == 1
    assert "server is gone" in caplog.text


def test_once_it_says_that_the_database_is_away(monkeypatch):
    def away(*, now):
        raise OperationalError("server is gone")

    monkeypatch.setattr(work.jobs, "due_job_ids", away)

    with pytest.raises(OperationalError):
        run(once=True)


def test_while_it_polls_it_looks_each_minute_whether_anything_is_to_be_asked_for(done, monkeypatch):
    ticked, moments = [], iter([0.0, 0.0, 59.0, 60.5, 60.5])
    monkeypatch.setattr(ticks, "_TICKS", {"one": lambda *, now: ticked.append(now)})
    monkeypatch.setattr(work.time, "monotonic", lambda: next(moments, 61.0))
    pauses = []

    def pause(seconds):
        pauses.append(len(ticked))
        if len(pauses) == 3:
            signal.raise_signal(signal.SIGTERM)

    monkeypatch.setattr(work.time, "sleep", pause)

    run()

    assert pauses == [1, 1, 2]


def test_once_it_does_what_is_due_and_asks_for_nothing_more(done, monkeypatch):
    ticked = []
    monkeypatch.setattr(ticks, "_TICKS", {"one": lambda *, now: ticked.append(now)})
    ask()

    run(once=True)

    assert (len(done), ticked) == (1, [])
