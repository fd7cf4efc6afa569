"""How the background work stands, in few queries, for a monitor."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db.models import Count, Min

from properties.models import Heartbeat, Job, JobState
from properties.selectors.company import the_company
from scheduling.models import MailDay, NightRun, Notice
from scheduling.selectors.weather_operation import weather_operation


def operation(now: dt.datetime) -> dict[str, Any]:
    """Return the numbers that tell whether work is done in time."""
    company = the_company()
    today = now.astimezone(ZoneInfo(company.time_zone)).date()
    due = Job.objects.due(now).aggregate(count=Count("pk"), oldest=Min("due_at"))
    states = Counter(dict(Notice.objects.order_by().values_list("state").annotate(Count("pk"))))
    night = NightRun.objects.first()
    beat = Heartbeat.objects.filter(name="sweep").first()
    mail = MailDay.objects.filter(date=today).first()
    return {
        "oldest_due_job_s": _seconds(due["oldest"], now),
        "jobs_due": due["count"],
        "jobs_parked": Job.objects.filter(state=JobState.PARKED).count(),
        "last_beat_s": _seconds(beat.at if beat else None, now),
        "notices": dict(states),
        "notices_stopped": settings.NOTICES_STOPPED or company.notices_paused_at is not None,
        "mail_taken_today": mail.taken if mail else 0,
        "mail_a_day": settings.NOTICES_A_DAY,
        "last_night": night.date if night else None,
        "last_night_state": night.state if night else None,
        **weather_operation(today, now),
    }


def _seconds(moment: dt.datetime | None, now: dt.datetime) -> float | None:
    return None if moment is None else max(0.0, (now - moment).total_seconds())
