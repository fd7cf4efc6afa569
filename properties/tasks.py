"""Celery's side of the background work: hints, and a sweep for what a lost hint left behind."""

from __future__ import annotations

from uuid import UUID

from celery import shared_task
from django.conf import settings
from django.utils import timezone

from properties.services import jobs


@shared_task(name="properties.run_job")
def run_job(*, job_id: str) -> None:
    jobs.run_job(UUID(job_id), now=timezone.now(), clock=timezone.now)


@shared_task(name="properties.sweep_jobs")
def sweep_jobs() -> None:
    for job_id in jobs.due_job_ids(now=timezone.now()):
        run_job.delay(job_id=str(job_id))


def send_hint(job_id: UUID) -> None:
    """Tell the workers of a due job; without a broker the polling worker finds it by itself."""
    if settings.REDIS_URL:
        run_job.delay(job_id=str(job_id))
