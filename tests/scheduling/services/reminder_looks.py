"""Looking for reminders as a worker does."""

from __future__ import annotations

import datetime as dt
from typing import Any

from properties.models import Job, Property
from properties.services import jobs
from scheduling.models import Notice, Reminder
from scheduling.services.job_kinds import REMINDERS
from scheduling.services.reminder_looks import ask_for_reminders
from tests import cast


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


def days(count: int) -> dt.timedelta:
    return dt.timedelta(days=count)


def dates_of(kind: str, when: dt.date, *, audience: str = "office") -> list[dt.date]:
    """Return the dates that are live after the look of a day."""
    look(noon(when))
    return [row.due_date for row in live(kind, audience)]


def make_agreement_garden(name: str = "Ingrid Holm", **changes: Any) -> Property:
    """A garden with an open agreement."""
    customer = cast.make_customer(name=name, wants_notices=True)
    garden = cast.make_property(customer, name=f"Garden of {name}", **changes)
    cast.make_ticket(garden)
    return garden


def mails(**which: Any) -> list[Notice]:
    return list(Notice.objects.filter(**which).order_by("created_at", "key"))
