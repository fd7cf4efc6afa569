"""Nights for tests: two zones with plans, a worker who does what is due, and one who dies."""

from __future__ import annotations

import datetime as dt
from typing import Any

from properties.models import Zone
from properties.services import jobs
from scheduling.models import NightRun, ZoneOutlook
from scheduling.services import night_runs
from scheduling.services.plans import store_plans
from tests import cast

LEASE = dt.timedelta(hours=1)


class WorkerDied(BaseException):
    """Stands for kill -9: no handler of exceptions sees it."""


def plan_two_zones(zone: Zone) -> list[Zone]:
    """Two zones of one garden with plans."""
    cast.make_catch_test(cast.make_visit(zone.property, cast.make_technician()), zone)
    other = cast.make_zone(zone.controller, number=2, name="Back lawn")
    cast.make_heads(other)
    store_plans(zone.property, actor=None, now=cast.NOW)
    return [zone, other]


def night(now: dt.datetime = cast.NOW) -> NightRun:
    """Let the tick come, and do what is due."""
    night_runs.start_night_when_due(now=now)
    work(now)
    return NightRun.objects.latest("date")


def work(now: dt.datetime) -> None:
    while due := jobs.due_job_ids(now=now):
        for job_id in due:
            jobs.run_job(job_id, now=now)


def outlooks() -> list[dict[str, Any]]:
    return list(ZoneOutlook.objects.order_by("zone").values())


def store_new_plan(zone: Zone) -> None:
    zone.min_days_between = 4
    zone.save()
    store_plans(zone.property, actor=None, now=cast.NOW + dt.timedelta(days=1))
