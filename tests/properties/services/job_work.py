"""Work for the tests of jobs: what is asked for, and handlers that write before they end badly."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

from django.conf import settings

from properties.models import Job
from properties.services import jobs
from tests import cast
from tests.properties.services.conftest import KIND

NOW = cast.NOW
AFTER_LEASE = NOW + dt.timedelta(seconds=settings.JOB_LEASE_S)
SUBJECT = uuid4()


def ask(now: dt.datetime = NOW) -> Job:
    return jobs.ask_for(KIND, SUBJECT, asked_by=None, now=now)


def write_customer(subject_id, now) -> dict:
    return {"customer": str(cast.make_customer(name=f"of {subject_id}").pk)}


class WorkerDied(BaseException):
    """Stands for the end of the process: no handler of exceptions sees it."""


def write_then(error: BaseException) -> jobs.Handler:
    def handler(subject_id, now):
        write_customer(subject_id, now)
        raise error

    return handler
