"""Looking for reminders as a worker does."""

from __future__ import annotations

import datetime as dt

from properties.models import Job
from properties.services import jobs
from scheduling.models import Reminder
from scheduling.services.job_kinds import REMINDERS
from scheduling.services.reminder_looks import ask_for_reminders


def look(now: dt.datetime) -> None:
    """Do what the minute's tick and a worker do."""
    ask_for_reminders(now=now)
    for job in Job.objects.filter(kind=REMINDERS).due(now):
        jobs.run_job(job.pk, now=now)


def noon(date: dt.date, *, hour: int = 18) -> dt.datetime:
    """Noon or one o'clock in Chicago."""
    return dt.datetime.combine(date, dt.time(hour), dt.UTC)


def live(kind: str, audience: str = "") -> list[Reminder]:
    rows = Reminder.objects.filter(kind=kind, state__in=("open", "snoozed")).order_by("key")
    return list(rows.filter(audience=audience) if audience else rows)
