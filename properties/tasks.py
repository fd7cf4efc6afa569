"""Celery's side of the background work: hints, and a sweep for what a lost hint left behind."""

from __future__ import annotations

import time
from typing import Final
from uuid import UUID

from celery import shared_task
from django.conf import settings
from django.utils import timezone
from kombu.exceptions import OperationalError

from properties.services import jobs
from properties.services.ticks import run_ticks

_SILENT: Final = {"until": 0.0}
"""Until when nobody of this process waits for the broker [s of the monotonic clock]."""


@shared_task(name="properties.run_job")
def run_job(*, job_id: str) -> None:
    jobs.run_job(UUID(job_id), now=timezone.now(), clock=timezone.now)


@shared_task(name="properties.sweep_jobs")
def sweep_jobs() -> None:
    run_ticks(timezone.now)
    for job_id, queue in jobs.due_hints(now=timezone.now()):
        _send(job_id, queue)


def send_hint(job_id: UUID, queue: str) -> None:
    """Tell the workers of a due job; without a broker the polling worker finds it by itself.

    A broker that did not answer is left alone for a while, or each batch and each request would
    wait for it anew: the sweep tells what was not told.
    """
    if not settings.REDIS_URL or time.monotonic() < _SILENT["until"]:
        return
    try:
        _send(job_id, queue)
    except OperationalError:
        _SILENT["until"] = time.monotonic() + settings.HINT_PAUSE_S
        raise


def _send(job_id: UUID, queue: str) -> None:
    run_job.apply_async(kwargs={"job_id": str(job_id)}, queue=settings.JOB_QUEUES[queue])
