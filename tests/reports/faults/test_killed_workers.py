"""A worker is killed at each step of a notice: it is sent once, or twice where nobody can know."""

from __future__ import annotations

import pytest
from django.db import connection

from tests.reports.faults.gardens import queue
from tests.reports.faults.stage import PREFORK, check, some_sent

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]

MAY_BE_TWICE = {"after sending", "before the mark", "after the mark"}


@pytest.mark.parametrize(
    "step",
    [
        "claimed", "sheet rendered", "sheet stored", "before sending", "after sending",
        "before the mark", "after the mark", "before the acknowledgement",
    ],
)  # fmt: skip
def test_a_worker_is_killed_over_a_notice(scene, garden, step):
    queue(scene, garden, 3)
    dying = scene.start_worker("dying", dies=step)
    scene.start_beat()
    scene.wait_for(dying.was_killed, f"the worker did not come to: {step}")
    scene.strikes()

    scene.start_worker("next")

    check(scene, fault=f"worker killed: {step}", twice=int(step in MAY_BE_TWICE))


@pytest.mark.parametrize("step", ["sheet rendered", "after sending"])
def test_one_process_of_a_pool_is_killed(scene, garden, step):
    queue(scene, garden, 3)
    worker = scene.start_worker(dies=step, pool=PREFORK)
    scene.start_beat()
    scene.wait_for(scene.somebody_came, f"the pool did not come to: {step}")
    scene.strikes()

    check(scene, fault=f"pool process killed: {step}", twice=int(step in MAY_BE_TWICE))
    assert worker.poll() is None


def test_all_connections_to_the_database_are_cut_in_the_middle(scene, garden):
    queue(scene, garden, 8)
    scene.start_worker()
    scene.start_beat()
    scene.wait_for(some_sent, "nothing was sent")

    scene.strikes()
    cut_connections()

    check(scene, fault="database connections cut in a batch", twice=1)


def cut_connections() -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )


def test_two_beats_and_two_workers_share_one_batch(scene, garden):
    queue(scene, garden, 10)
    for name in ("one", "other"):
        scene.start_worker(name)
        scene.start_beat(name)

    check(scene, fault="two beats, two workers")
