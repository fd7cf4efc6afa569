"""Workers are killed over what queues notices: the night, its news, the month, the look.

Batches are small and workers many, each killed at another step of the same work.
"""

from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import NightRun, NightSlice, Notice, ReminderDay, WeatherStation, ZoneOutlook
from tests.reports.faults.gardens import CALM_NIGHT, make_firm, make_planned_garden
from tests.reports.faults.stage import check
from tests.scheduling.weather_rows import make_forecast

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

GARDENS = 5
NIGHT = CALM_NIGHT + dt.timedelta(hours=2, minutes=30)  # half past three in Chicago
NOON = CALM_NIGHT + dt.timedelta(days=30, hours=11, minutes=1)


@pytest.fixture
def gardens(transactional_db):
    make_firm()
    return [make_planned_garden(number) for number in range(GARDENS)]


@pytest.mark.parametrize(
    "steps",
    [
        ("plans read", "slice computed", "some of the news told"),
        ("night noted", "slice stored", "some heat notices queued"),
        ("night divided", "all of the news told", "the news counted"),
    ],
    ids=", ".join,
)
def test_workers_are_killed_in_a_night(scene, gardens, steps):
    """The June notices are due too: each client hears of the month and of the heat."""
    make_forecast(WeatherStation.objects.get(), *[{"tmin_c": 28.0, "tmax_c": 47.0}] * 5)
    scene.clock.set(NIGHT)
    scene.strikes()
    scene.start_beat()
    scene.kill_at_each(*steps)
    scene.start_worker("next")

    check(scene, 2 * GARDENS, fault=f"killed: {', '.join(steps)}")
    run = NightRun.objects.get()
    assert (run.state, run.slices) == ("done", GARDENS)
    assert NightSlice.objects.filter(run=run, state="done").count() == GARDENS
    assert ZoneOutlook.objects.count() == GARDENS
    assert Notice.objects.filter(kind="heat").values("customer").distinct().count() == GARDENS


@pytest.mark.parametrize(
    "steps",
    [("some monthly notices queued", "all of the month queued"), ("the month counted",)],
    ids=", ".join,
)
def test_workers_are_killed_over_the_monthly_notices(scene, gardens, steps):
    scene.strikes()
    scene.start_beat()
    scene.kill_at_each(*steps)
    scene.start_worker("next")

    check(scene, GARDENS, fault=f"killed: {', '.join(steps)}")
    assert set(Notice.objects.values_list("property", flat=True)) == {each.pk for each in gardens}


@pytest.mark.parametrize(
    "steps",
    [
        ("one kind of reminders told", "all reminders told"),
        ("some gardens looked at", "the look counted"),
    ],
    ids=", ".join,
)
def test_workers_are_killed_in_a_look_for_reminders(scene, gardens, steps):
    """Each client hears of the month and of the open agreement, the office of all in one mail."""
    scene.clock.set(NOON)
    scene.strikes()
    scene.start_beat()
    scene.kill_at_each(*steps)
    scene.start_worker("next")

    check(scene, 2 * GARDENS + 1, fault=f"killed: {', '.join(steps)}")
    assert ReminderDay.objects.filter(ended_at__isnull=False).count() == 1
    assert Notice.objects.filter(key__startswith="reminder:").count() == GARDENS
