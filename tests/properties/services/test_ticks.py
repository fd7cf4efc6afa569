from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Heartbeat
from properties.services import ticks
from tests import cast

pytestmark = pytest.mark.django_db


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
