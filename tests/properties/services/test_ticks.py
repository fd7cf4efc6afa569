from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Heartbeat, Job
from properties.services import jobs, ticks
from tests import cast
from tests.properties.services.conftest import KIND
from tests.properties.services.job_work import SUBJECT, ask

pytestmark = pytest.mark.django_db
LATER = cast.NOW + dt.timedelta(minutes=1)


@pytest.fixture(autouse=True)
def none_registered(monkeypatch):
    monkeypatch.setattr(ticks, "_TICKS", {})


def test_each_is_called_with_the_time():
    seen = []
    ticks.register_tick("one", lambda *, now: seen.append(now))
    ticks.register_tick("other", lambda *, now: seen.append(now))

    assert ticks.run_ticks(lambda: cast.NOW) == []
    assert seen == [cast.NOW, cast.NOW]


def test_one_that_breaks_keeps_no_other_from_its_turn(caplog):
    seen = []

    def broken(*, now):
        raise ZeroDivisionError

    ticks.register_tick("broken", broken)
    ticks.register_tick("sound", lambda *, now: seen.append(now))

    assert ticks.run_ticks(lambda: cast.NOW) == ["broken"]
    assert seen == [cast.NOW]
    assert "the tick 'broken' broke" in caplog.text


def test_registered_twice_is_called_once():
    seen = []
    for _ in range(2):
        ticks.register_tick("one", lambda *, now: seen.append(now))

    ticks.run_ticks(lambda: cast.NOW)

    assert len(seen) == 1


def test_when_they_were_last_looked_at_is_remembered():
    for moment in (cast.NOW, cast.NOW + dt.timedelta(minutes=1)):
        ticks.run_ticks(lambda moment=moment: moment)

    assert Heartbeat.objects.get().at == cast.NOW + dt.timedelta(minutes=1)


def test_what_a_tick_asks_for_is_asked_for_once_while_it_waits(handle):
    first = ticks.ask_when_idle(KIND, SUBJECT, now=cast.NOW)

    assert first.due_at == cast.NOW
    assert ticks.ask_when_idle(KIND, SUBJECT, now=LATER) is None
    assert Job.objects.get() == first


def test_while_it_runs_no_second_is_asked_for(handle):
    jobs.claim(ask().pk, now=cast.NOW)

    assert ticks.ask_when_idle(KIND, SUBJECT, now=LATER) is None
    assert Job.objects.count() == 1


def test_one_that_was_put_off_is_left_to_its_time(handle):
    ask(cast.NOW + dt.timedelta(hours=1))

    assert ticks.ask_when_idle(KIND, SUBJECT, now=LATER) is None
    assert jobs.due_job_ids(now=LATER) == []


def test_after_it_ended_it_can_be_asked_for_again(handle):
    first = ask()
    jobs.run_job(first.pk, now=cast.NOW)

    assert ticks.ask_when_idle(KIND, SUBJECT, now=LATER) not in (None, first)


def test_another_kind_that_runs_keeps_nothing_from_its_turn(handle, monkeypatch):
    monkeypatch.setitem(jobs._HANDLERS, "other", lambda subject_id, now: {})
    jobs.claim(ask().pk, now=cast.NOW)

    assert ticks.ask_when_idle("other", SUBJECT, now=cast.NOW) is not None
