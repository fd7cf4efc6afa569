"""Calling off work that has not begun."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from properties.domain.errors import RefusedError
from properties.models import Job, JobState, StaffMember
from properties.services.events import record_event


@transaction.atomic
def cancel_job(job: Job, *, actor: StaffMember, now: datetime) -> Job:
    """Park a waiting job as cancelled; the office can have it run again. Twice is once.

    Of a job that a worker has begun nothing is undone, so that it is not left half done.
    """
    problem = {"code": "cancelled", "detail": "It was called off before it began."}
    changes = {"state": JobState.PARKED, "ended_at": now, "problem": problem}
    if not Job.objects.filter(pk=job.pk, state=JobState.WAITING).update(**changes):
        held = Job.objects.get(pk=job.pk)
        if held.state == JobState.PARKED and held.problem.get("code") == "cancelled":
            return held
        raise RefusedError(
            f"This job is {held.get_state_display().lower()}.",
            code="job-begun", field="state", remedy="Only a job that waits can be called off.",
        )  # fmt: skip
    before, after = {"state": JobState.WAITING.value}, {"state": JobState.PARKED.value}
    record_event(job, act="cancelled", actor=actor, now=now, before=before, after=after)
    return Job.objects.get(pk=job.pk)
