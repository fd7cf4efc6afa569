"""The pages of replays in the admin: to look at, nothing to change."""

from __future__ import annotations

import pytest

from scheduling.models import Replay
from tests import cast
from tests.scheduling.replay_rows import make_answer, make_question, make_setting

LIST = "/admin/scheduling/replay/"


@pytest.fixture
def ready(visit, zone, station):
    cast.make_catch_test(visit, zone)
    make_setting(zone.controller, {zone: 20})
    return zone


def page(client, row):
    return client.get(f"{LIST}{row.pk}/change/").content.decode()


def test_the_outcome_is_told(office_pages, garden, office, ready):
    make_answer(garden, office)
    answered = Replay.objects.get()
    make_answer(garden, office, first_year=1990, last_year=1991)
    refused = Replay.objects.exclude(pk=answered.pk).get()
    waiting, _ = make_question(garden, office)

    assert "less water in a mean year" in page(office_pages, answered)
    assert "1 of 1" in page(office_pages, answered)
    assert "refused: From 1990 to 1991 there is no year" in page(office_pages, refused)
    assert "not answered yet" in page(office_pages, waiting)
    assert "Holm garden" in office_pages.get(LIST).content.decode()


def test_nothing_can_be_changed(office_pages, garden, office, ready):
    make_answer(garden, office)

    answer = office_pages.post(f"{LIST}{Replay.objects.get().pk}/change/", {"asked": "{}"})

    assert answer.status_code == 403
    assert office_pages.get(f"{LIST}add/").status_code == 403
