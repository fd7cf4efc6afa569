"""Many workers at once, on the real database and the real broker."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, transaction

from properties.models import Customer, Job
from properties.services import jobs
from properties.tasks import run_job, sweep_jobs
from tests import cast
from tests.properties.services.conftest import KIND
from tests.properties.services.slow_work.apps import KIND as SLOW_KIND

ROOT = Path(__file__).resolve().parents[3]
WORKERS = 6

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]


def all_at_once(act: Callable[[], Any]) -> list[Any]:
    """Do the same in many threads, each with a connection of its own, started together."""
    start = threading.Barrier(WORKERS)

    def worker() -> Any:
        try:
            connection.ensure_connection()
            start.wait(timeout=20)
            return act()
        finally:
            connection.close()

    with ThreadPoolExecutor(WORKERS) as pool:
        return [
            future.result(timeout=60) for future in [pool.submit(worker) for _ in range(WORKERS)]
        ]


def write_customer(subject_id, now):
    cast.make_customer()
    return {}


@pytest.mark.parametrize("_round", range(5))
def test_of_many_workers_that_claim_one_wins(handle, _round):
    job = jobs.ask_for(KIND, uuid4(), asked_by=None, now=cast.NOW)

    claims = all_at_once(lambda: jobs.claim(job.pk, now=cast.NOW))

    assert [claim.pk for claim in claims if claim] == [job.pk]
    assert Job.objects.get().attempts == 1


@pytest.mark.parametrize("_round", range(5))
def test_of_many_workers_that_run_a_job_one_does_it(handle, _round):
    handle(write_customer)
    job = jobs.ask_for(KIND, uuid4(), asked_by=None, now=cast.NOW)

    ended = all_at_once(lambda: jobs.run_job(job.pk, now=cast.NOW))

    assert [done.state for done in ended if done] == ["done"]
    assert Customer.objects.count() == 1


@pytest.mark.parametrize("_round", range(5))
def test_many_that_ask_at_once_get_one_row(handle, _round):
    subject = uuid4()

    @transaction.atomic
    def ask():
        return jobs.ask_for(KIND, subject, asked_by=None, now=cast.NOW).pk

    asked = all_at_once(ask)

    assert len(set(asked)) == 1
    assert Job.objects.count() == 1


def test_no_worker_starts_before_the_one_who_asked_again_has_committed(handle):
    """Who asks again touches the waiting row, so a claim waits for his commit and sees his rows."""
    seen = []
    handle(lambda subject_id, now: seen.append(Customer.objects.count()) or {})
    job = jobs.ask_for(KIND, uuid4(), asked_by=None, now=cast.NOW)

    def work():
        try:
            return jobs.run_job(job.pk, now=cast.NOW)
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        with transaction.atomic():
            cast.make_customer()
            jobs.ask_for(KIND, job.subject_id, asked_by=None, now=cast.NOW)
            future = pool.submit(work)
            time.sleep(0.3)
            assert not future.done()
        assert future.result(timeout=20).state == "done"

    assert seen == [1]


# A Celery worker of its own


@pytest.fixture
def queue(monkeypatch, settings) -> str:
    """Return the name of a queue that only this test and its worker use."""
    name = f"slow-work-{uuid4()}"
    settings.JOB_QUEUES = {"default": name}
    monkeypatch.setitem(jobs._HANDLERS, SLOW_KIND, write_customer)
    return name


@pytest.fixture
def celery_worker(queue, tmp_path) -> Iterator[subprocess.Popen[bytes]]:
    database = connection.settings_dict
    login = f"{database['USER']}:{database['PASSWORD']}".rstrip(":")
    address = f"{database['HOST']}:{database['PORT'] or 5432}/{database['NAME']}"
    env = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "tests.properties.services.slow_work.settings",
        "DATABASE_URL": f"postgres://{login}@{address}",
        "SLOW_WORK_QUEUE": queue,
        "SLOW_WORK_FOLDER": str(tmp_path),
        "VAR_DIR": str(tmp_path),
    }
    command = [sys.executable, "-m", "celery", "-A", "config.celery", "worker"]
    options = ["--pool", "solo", "--without-gossip", "--without-mingle", "-n", f"{queue}@here"]
    with (tmp_path / "log").open("wb") as log:
        process = subprocess.Popen([*command, *options], cwd=ROOT, env=env, stdout=log, stderr=log)
        yield process
        process.terminate()
        process.wait(timeout=30)


def wait_until_done(job: Job, log: Path) -> Job:
    for _ in range(600):
        job.refresh_from_db()
        if job.state == "done":
            return job
        time.sleep(0.05)
    pytest.fail(f"the job is {job.state}: {log.read_text()}")


def ask_slow() -> Job:
    return jobs.ask_for(SLOW_KIND, uuid4(), asked_by=None, now=cast.NOW)


def test_a_celery_worker_does_what_it_is_told_and_what_a_lost_hint_left_behind(
    celery_worker, queue, monkeypatch, tmp_path
):
    told = ask_slow()
    assert wait_until_done(told, tmp_path / "log").attempts == 1

    monkeypatch.setattr(jobs, "_HINTS", [])
    untold = ask_slow()
    time.sleep(1)
    untold.refresh_from_db()
    assert untold.state == "waiting"

    sweep_jobs.apply_async(queue=queue)
    assert wait_until_done(untold, tmp_path / "log").attempts == 1

    run_job.apply_async(kwargs={"job_id": str(untold.pk)}, queue=queue)  # a hint told twice
    third = ask_slow()
    sweep_jobs.apply_async(queue=queue)
    wait_until_done(third, tmp_path / "log")
    assert Customer.objects.count() == 3
