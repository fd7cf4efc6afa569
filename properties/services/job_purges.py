"""Deleting old jobs that left nothing to see to, a bounded number at a time."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.conf import settings

from properties.models import Company, Job
from properties.models.jobs import JobQuerySet
from properties.services.ticks import ask_when_idle

PURGE_JOBS: Final = "purge-jobs"
PURGED_AT_ONCE: Final = 1000


def ask_for_purge(*, now: datetime) -> None:
    """Ask for a purge while there are jobs that are old enough; each minute brings one batch."""
    company = Company.objects.first()
    if company is not None and _old(now).exists():
        ask_when_idle(PURGE_JOBS, company.pk, now=now)


def purge_jobs(company_id: UUID, now: datetime) -> dict[str, Any]:
    """Do the background job of that name."""
    oldest = list(_old(now).values_list("pk", flat=True)[:PURGED_AT_ONCE])
    deleted, _ = Job.objects.filter(pk__in=oldest).delete()
    return {"deleted": deleted}


def _old(now: datetime) -> JobQuerySet:
    return Job.objects.made_good(now - timedelta(days=settings.JOB_KEEP_DAYS))
