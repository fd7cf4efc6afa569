"""Whatever dies: every due notice is sent once, and no run is left half-done.

Real worker processes, a real Redis of its own, the real PostgreSQL. With `-s` each fault prints its
outcome as a row of a table.
"""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.utils import timezone

from properties.models import Job
from reports.models import Document
from scheduling.domain.notice_content import NoticeContent, NoticeSection
from scheduling.models import NightRun, Notice, ZoneOutlook
from scheduling.services import night_runs
from scheduling.services.notices import NoticeDraft, queue_notices
from scheduling.services.plans import store_plans
from tests import cast
from tests.reports.faults.stage import Stage, nothing_is_open, stage, was_killed

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

CONTENT = NoticeContent(
    "Water less", "It gets cooler.", (NoticeSection("What to change", ("14 min.",)),),
    has_sheet=True,
)  # fmt: skip
MAY_BE_TWICE = {"after sending", "before the mark", "after the mark"}


@pytest.fixture(autouse=True)
def _now():
    """The workers go by the real clock, and so does this process."""


@pytest.fixture
def scene(tmp_path, settings):
    with stage(tmp_path) as scene:
        settings.REDIS_URL = scene.redis_url
        yield scene


@pytest.fixture
def garden(db):
    cast.make_company()
    return cast.make_property(cast.make_customer(wants_notices=True))


def queue(garden, count: int) -> None:
    """Queue so many notices; the jobs wait, and nobody is told of them but by the sweep."""
    queue_notices(
        (
            NoticeDraft(key=f"monthly:{n}", kind="monthly", content=CONTENT,
                        customer_id=garden.customer_id, property_id=garden.pk)
            for n in range(count)
        ),
        now=timezone.now(),
    )  # fmt: skip


@pytest.fixture(autouse=True)
def hints_go_nowhere(monkeypatch):
    """This process has another broker in its settings than the workers: only their beat tells."""
    monkeypatch.setattr("properties.services.jobs._HINTS", [])


def all_sent(count: int) -> bool:
    return Notice.objects.filter(state="sent").count() == count


def check(scene: Stage, count: int, *, fault: str, twice: int = 0) -> None:
    """Every notice is sent, each was seen once (so many at most twice), nothing is left over."""
    scene.wait_for(lambda: all_sent(count), f"not all are sent after: {fault}")
    scene.wait_for(nothing_is_open, f"work is left after: {fault}")
    seen = scene.deliveries()
    assert set(seen) == set(Notice.objects.values_list("message_id", flat=True))
    more = [message for message, times in seen.items() if times > 1]
    assert len(more) <= twice
    assert all(times <= 2 for times in seen.values())
    marked = set(Notice.objects.filter(may_be_twice=True).values_list("message_id", flat=True))
    assert set(more) <= marked
    assert Document.objects.filter(notice__isnull=False).count() == count
    print(f"{fault:32} {count} queued, {count} sent, {len(more)} seen twice")


@pytest.mark.parametrize(
    "step",
    [
        "claimed", "sheet rendered", "sheet stored", "before sending", "after sending",
        "before the mark", "after the mark",
    ],
)  # fmt: skip
def test_a_worker_is_killed(scene, garden, step):
    queue(garden, 3)
    dying = scene.start_worker("dying", step=step)
    scene.start_beat()
    scene.wait_for(lambda: was_killed(dying), f"the worker did not come to: {step}")

    scene.start_worker("next")

    check(scene, 3, fault=f"killed: {step}", twice=int(step in MAY_BE_TWICE))


def test_redis_is_flushed_and_killed_with_work_pending(scene, garden):
    queue(garden, 6)
    scene.start_beat()
    scene.kill_redis()
    scene.start_redis()
    scene.start_worker()

    scene.wait_for(lambda: Notice.objects.filter(state="sent").exists(), "nothing was sent")
    scene.kill_redis()
    scene.start_redis()

    check(scene, 6, fault="Redis killed, all lost, twice")


def test_all_connections_to_the_database_are_cut_in_the_middle(scene, garden):
    queue(garden, 8)
    scene.start_worker()
    scene.start_beat()
    scene.wait_for(lambda: Notice.objects.filter(state="sent").exists(), "nothing was sent")

    cut_connections()

    check(scene, 8, fault="database connections cut", twice=1)


def cut_connections() -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


def test_two_beats_and_two_workers_share_one_batch(scene, garden):
    queue(garden, 10)
    for name in ("one", "other"):
        scene.start_worker(name)
        scene.start_beat(name)

    check(scene, 10, fault="two beats, two workers")


@pytest.mark.parametrize("step", ["slice computed", "slice stored"])
def test_a_worker_is_killed_over_a_slice_of_the_night(scene, monkeypatch, step):
    cast.make_company()
    cast.make_weather(cast.make_station())
    zones = []
    for number in range(4):
        garden = cast.make_property(cast.make_customer(name=f"Client {number}"))
        zone = cast.make_zone(cast.make_controller(garden))
        cast.make_heads(zone)
        store_plans(garden, actor=None, now=timezone.now())
        zones.append(zone)
    monkeypatch.setattr(night_runs, "SLICE_ZONES", 1)
    night_runs.start_night(cast.Company.objects.get().pk, timezone.now())
    assert Job.objects.filter(kind="night-slice").count() == 4

    dying = scene.start_worker("dying", step=step)
    scene.start_beat()
    scene.wait_for(lambda: was_killed(dying), f"the worker did not come to: {step}")
    scene.start_worker("next")
    scene.start_worker("other")

    scene.wait_for(lambda: NightRun.objects.filter(state="done").exists(), "the night is open")
    scene.wait_for(nothing_is_open, "work is left")
    assert set(ZoneOutlook.objects.values_list("zone", flat=True)) == {zone.pk for zone in zones}
    assert NightRun.objects.count() == 1
    print(f"killed: {step:24} 4 slices, 4 zones looked at, run done")


def test_the_clock_moves_over_the_end_of_a_month(scene, garden):
    """A notice put off to a local midnight is sent after it, once."""
    queue(garden, 2)
    later = timezone.now() + dt.timedelta(seconds=3)
    Job.objects.update(due_at=later)
    scene.start_worker()
    scene.start_beat()

    check(scene, 2, fault="put off, then due")
    assert all(notice.sent_at >= later for notice in Notice.objects.all())
