"""The clock moves over a month's end, both changes of the hour, an outage: all is done once."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from properties.models import Job
from scheduling.models import NightRun, Notice, ReminderDay
from tests.reports.faults.gardens import make_firm, make_planned_garden, queue
from tests.reports.faults.stage import Stage, check, some_sent

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

BERLIN, NEW_YORK = "Europe/Berlin", "America/New_York"


def at(zone: str, text: str, *, fold: int = 0) -> dt.datetime:
    """Return the moment of a wall clock; with `fold` the second of an hour that comes twice."""
    wall = dt.datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone), fold=fold)
    return wall.astimezone(dt.UTC)


def two_gardens() -> None:
    make_planned_garden(1, time_zone=BERLIN)
    make_planned_garden(2, time_zone=NEW_YORK)


def months(zone: str) -> list[str]:
    """Return the months that the client in a zone was told of."""
    rows = Notice.objects.filter(kind="monthly", property__time_zone=zone, state="sent")
    return [
        f"{period:%Y-%m}" for period in rows.order_by("period").values_list("period", flat=True)
    ]


def look(scene: Stage, moment: dt.datetime) -> None:
    """Move the clock to a moment, and let all be done that is to be done then."""
    scene.clock.set(moment)
    scene.settle()


def test_the_clock_moves_over_the_end_of_a_month(scene, transactional_db):
    """A month's notice is due three days before it, by the clock of each property."""
    make_firm()
    two_gardens()
    told = []
    scene.start_worker()
    scene.start_beat()
    scene.strikes()
    for zone, wall in (
        (BERLIN, "2027-05-12T12:00"), (BERLIN, "2027-05-28T23:55"),
        (BERLIN, "2027-05-29T00:00:01"), (NEW_YORK, "2027-05-29T00:00:01"),
        (NEW_YORK, "2027-05-31T23:55"), (NEW_YORK, "2027-06-01T00:00:01"),
    ):  # fmt: skip
        look(scene, at(zone, wall))
        told.append((months(BERLIN), months(NEW_YORK)))

    may, june = "2027-05", "2027-06"
    assert told == [
        ([may], [may]), ([may], [may]),
        ([may, june], [may]), ([may, june], [may, june]),
        ([may, june], [may, june]), ([may, june], [may, june]),
    ]  # fmt: skip
    check(scene, fault="clock over a month's end")


def test_an_outage_over_the_day_on_which_notices_are_due_is_caught_up_once(scene, transactional_db):
    make_firm()
    two_gardens()
    scene.clock.set(at(BERLIN, "2027-05-12T12:00"))
    worker, beat = scene.start_worker(), scene.start_beat()
    scene.settle()
    for process in (worker, beat):
        process.end()

    scene.strikes()
    scene.clock.set(at(BERLIN, "2027-06-07T12:00"))
    scene.start_worker("next")
    scene.start_beat("next")
    scene.settle()
    look(scene, at(BERLIN, "2027-06-08T12:00"))

    assert months(BERLIN) == months(NEW_YORK) == ["2027-05", "2027-06"]
    check(scene, fault="outage of 26 days over the due day")


SPRING = {NEW_YORK: dt.date(2027, 3, 14), BERLIN: dt.date(2027, 3, 28)}
AUTUMN = {NEW_YORK: dt.date(2027, 11, 7), BERLIN: dt.date(2027, 10, 31)}


def walk(scene: Stage, zone: str, hour: int, steps: list[tuple[dt.date, str, int, int]]) -> None:
    """Walk over moments; at each it is said how many nights and looks there are to be until then.

    The night and the reminders begin at that hour, on the clock of the company.
    """
    make_firm(time_zone=zone)
    two_gardens()
    hours = {"NIGHT_HOUR": hour, "REMINDER_HOUR": hour}
    scene.clock.set(at(zone, f"{steps[0][0]}T{steps[0][1]}"))
    scene.start_worker(settings=hours)
    scene.start_beat()
    scene.strikes()
    for date, time, fold, count in steps:
        look(scene, at(zone, f"{date}T{time}", fold=fold))
        where = f"{date} {time}, fold {fold}"
        assert nights_and_looks() == (count, count), where
    for kind in ("night-start", "reminders"):
        assert Job.objects.filter(kind=kind).count() == steps[-1][3], kind


def nights_and_looks() -> tuple[int, int]:
    """Count them, each of which must be the only one of its date."""
    nights = list(NightRun.objects.filter(state="done").values_list("date", flat=True))
    assert len(nights) == len(set(nights)) == NightRun.objects.count()
    return len(nights), ReminderDay.objects.filter(ended_at__isnull=False).count()


@pytest.mark.parametrize("zone", [NEW_YORK, BERLIN])
def test_the_hour_of_the_night_does_not_exist_in_spring(scene, transactional_db, zone):
    date = SPRING[zone]
    before, after = date - dt.timedelta(days=1), date + dt.timedelta(days=1)
    walk(
        scene, zone, 2,
        [
            (before, "23:50", 0, 1), (date, "00:00:01", 0, 1), (date, "01:50", 0, 1),
            (date, "03:00:01", 0, 2), (date, "12:00", 0, 2), (date, "23:50", 0, 2),
            (after, "00:00:01", 0, 2), (after, "01:50", 0, 2), (after, "02:00:01", 0, 3),
        ],
    )  # fmt: skip

    march, april = "2027-03", "2027-04"  # so late in March a first notice waits for April's day
    told = {NEW_YORK: ([march], [march]), BERLIN: ([april], [])}
    assert (months(BERLIN), months(NEW_YORK)) == told[zone]
    check(scene, fault=f"clock set forward, {zone}")


@pytest.mark.parametrize(("zone", "hour"), [(NEW_YORK, 1), (BERLIN, 2)])
def test_the_hour_of_the_night_comes_twice_in_autumn(scene, transactional_db, zone, hour):
    date = AUTUMN[zone]
    before, after = date - dt.timedelta(days=1), date + dt.timedelta(days=1)
    twice, ahead = f"{hour:02}:00:01", f"{hour - 1:02}:50"
    walk(
        scene, zone, hour,
        [
            (before, "23:50", 0, 1), (date, ahead, 0, 1), (date, twice, 0, 2),
            (date, f"{hour:02}:50", 0, 2), (date, twice, 1, 2), (date, f"{hour:02}:50", 1, 2),
            (date, "23:50", 0, 2), (after, ahead, 0, 2), (after, twice, 0, 3),
        ],
    )  # fmt: skip

    month = ["2027-11"]
    assert months(BERLIN) == months(NEW_YORK) == month
    check(scene, fault=f"clock set back, {zone}")


@pytest.mark.parametrize(
    ("step", "hour"), [("some gardens looked at", 12), ("night noted", 3)], ids=["look", "night"]
)
def test_what_died_before_midnight_is_not_half_done_after_it(scene, transactional_db, step, hour):
    """The next date has its own night and look, at their hours."""
    company = make_firm()
    make_planned_garden(1)
    zone = company.time_zone
    scene.clock.set(at(zone, "2027-07-10T23:50"))
    scene.start_beat()
    scene.kill_at_each(step)

    scene.strikes()
    scene.clock.set(at(zone, "2027-07-11T00:00:01"))
    scene.start_worker("next")
    scene.settle()
    early = (
        NightRun.objects.filter(date="2027-07-11"),
        ReminderDay.objects.filter(date="2027-07-11"),
    )
    assert [rows.count() for rows in early] == [0, 0]
    look(scene, at(zone, "2027-07-11T12:00:01"))

    assert [rows.count() for rows in early] == [1, 1]
    check(scene, fault=f"killed before midnight: {step}")


def test_the_clock_jumps_in_the_middle_of_a_batch(scene, garden):
    queue(scene, garden, 8)
    scene.start_worker()
    scene.start_beat()
    scene.wait_for(some_sent, "nothing was sent")

    scene.strikes()
    scene.clock.set(scene.clock.now() + dt.timedelta(hours=1))

    check(scene, fault="clock jumps an hour in a batch")


def test_a_notice_that_was_put_off_is_sent_when_its_moment_comes(scene, garden):
    queue(scene, garden, 2)
    later = scene.clock.now() + dt.timedelta(hours=1)
    Job.objects.update(due_at=later)
    scene.start_worker()
    scene.start_beat()
    last = scene.sweep()
    scene.sweep(after=last)
    assert not some_sent()

    scene.strikes()
    scene.clock.set(later)

    check(scene, fault="put off, then due")
    assert all(notice.sent_at >= later for notice in Notice.objects.all())
