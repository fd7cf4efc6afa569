"""A worker is asked to stop: it ends what it can end in time, and gives the rest back."""

from __future__ import annotations

import signal

import pytest

from scheduling.models import Notice
from tests.reports.faults.gardens import queue
from tests.reports.faults.stage import PREFORK, check

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def test_a_worker_that_is_stopped_ends_what_it_is_at(scene, garden):
    queue(scene, garden, 2)
    in_time = {"worker_soft_shutdown_timeout": 2.0}
    worker = scene.start_worker(stays="before sending", pool=PREFORK, celery=in_time)
    beat = scene.start_beat()
    scene.wait_for(scene.somebody_came, "no task is under way")

    scene.strikes()
    beat.end()
    worker.send(signal.SIGTERM)
    scene.wait_for(lambda: "shutdown" in scene.log("worker-one").lower(), "it takes no notice")
    scene.let_go()

    scene.wait_for(lambda: worker.poll() is not None, "the worker does not stop")
    assert Notice.objects.filter(state="sent", attempts=1).exists()
    scene.start_worker("next")
    scene.start_beat("next")
    check(scene, fault="SIGTERM, work ends in time")


def test_a_worker_that_is_stopped_gives_back_what_takes_too_long(scene, garden):
    queue(scene, garden, 2)
    soon = {"worker_soft_shutdown_timeout": 0.5}
    worker = scene.start_worker(stays="before sending", pool=PREFORK, celery=soon)
    scene.start_beat()
    scene.wait_for(scene.somebody_came, "no task is under way")

    scene.strikes()
    worker.send(signal.SIGTERM)

    scene.wait_for(lambda: worker.poll() is not None, "the worker does not stop")
    assert not scene.has_gone_on(), "the task was not given back"
    scene.start_worker("next")
    check(scene, fault="SIGTERM, work given back")
