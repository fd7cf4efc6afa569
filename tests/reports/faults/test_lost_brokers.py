"""Redis is flushed, killed or started anew with work pending: the rows remain, and all is sent."""

from __future__ import annotations

import pytest

from scheduling.models import Notice
from tests.reports.faults.gardens import queue
from tests.reports.faults.stage import PREFORK, check, some_sent

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def hints_wait(scene) -> bool:
    """Whether messages for the workers lie in Redis."""
    with scene.redis_client() as client:
        return any(client.llen(name) for name in ("pdf", "mail"))


def flush(scene) -> None:
    with scene.redis_client() as client:
        client.flushall()


def test_redis_is_flushed_before_anybody_took_the_hints(scene, garden):
    queue(scene, garden, 6)
    beat = scene.start_beat()
    sweeper = scene.start_worker("sweeper", queues="default")
    scene.wait_for(lambda: hints_wait(scene), "no hint came to Redis")
    for process in (beat, sweeper):
        process.end()

    scene.strikes()
    flush(scene)
    assert not hints_wait(scene)
    scene.start_worker()
    scene.start_beat()

    check(scene, fault="Redis flushed, all hints pending")


def test_redis_is_flushed_under_living_workers_and_beats(scene, garden):
    """Bindings are lost with it, and who keeps a connection must still reach his queue."""
    queue(scene, garden, 10)
    scene.start_worker()
    scene.start_beat()
    scene.wait_for(some_sent, "nothing was sent")

    scene.strikes()
    flush(scene)
    assert Notice.objects.exclude(state="sent").exists()

    check(scene, fault="Redis flushed in a batch")


def test_redis_is_killed_with_work_pending_and_again_in_the_middle(scene, garden):
    queue(scene, garden, 8)
    scene.start_beat()
    scene.stop_redis()
    scene.start_redis()
    scene.start_worker()
    scene.wait_for(some_sent, "nothing was sent")

    scene.strikes()
    scene.stop_redis()
    assert Notice.objects.exclude(state="sent").exists()
    scene.start_redis()

    check(scene, fault="Redis killed twice, all lost")


def test_redis_is_stopped_in_the_middle_and_started_again(scene, garden):
    queue(scene, garden, 8)
    scene.start_beat()
    scene.start_worker()
    scene.wait_for(some_sent, "nothing was sent")

    scene.strikes()
    scene.stop_redis(softly=True)
    assert Notice.objects.exclude(state="sent").exists()
    scene.start_redis()

    check(scene, fault="Redis restarted in a batch")


def test_the_broker_is_lost_while_a_long_task_runs(scene, garden):
    """The task is cancelled, and its job taken up again when the lease is over."""
    queue(scene, garden, 1)
    worker = scene.start_worker(stays="before sending", pool=PREFORK)
    scene.start_beat()
    scene.wait_for(scene.somebody_came, "no task is under way")
    claimed_at = scene.clock.now()

    scene.strikes()
    scene.stop_redis()
    scene.start_redis()

    scene.wait_for(some_sent, "nothing was sent")
    taken_up_s = (Notice.objects.get().sent_at - claimed_at).total_seconds()
    check(scene, fault="broker lost under a long task", note=f"taken up {taken_up_s:.1f} s later")
    assert worker.poll() is None
    assert not scene.has_gone_on(), "the task was not cancelled"
