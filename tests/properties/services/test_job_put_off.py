"""A job that cannot be done yet."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Customer, Job, JobState
from properties.services import jobs
from tests.properties.services.conftest import KIND
from tests.properties.services.job_work import NOW, SUBJECT, ask, write_customer, write_then

pytestmark = pytest.mark.django_db

TOMORROW = NOW + dt.timedelta(days=1)
NOT_YET = jobs.NotYetError(TOMORROW, "Enough was sent today.")


def test_it_waits_until_then_and_writes_nothing(handle):
    handle(write_then(NOT_YET))

    job = jobs.run_job(ask().pk, now=NOW)

    assert (job.state, job.due_at, job.claimed_until) == (JobState.WAITING, TOMORROW, None)
    assert job.problem == {"code": "not-yet", "detail": "Enough was sent today."}
    assert not Customer.objects.exists()
    assert jobs.due_job_ids(now=TOMORROW - dt.timedelta(seconds=1)) == []
    assert jobs.due_job_ids(now=TOMORROW) == [job.pk]


def test_it_loses_no_attempt_however_often_it_is_put_off(handle):
    handle(write_then(NOT_YET))
    job = ask()
    for _ in range(5):
        Job.objects.update(due_at=NOW)
        jobs.run_job(job.pk, now=NOW)

    handle(write_customer)
    done = jobs.run_job(job.pk, now=TOMORROW)

    assert (done.state, done.attempts) == (JobState.DONE, 1)


def test_a_newer_one_that_waits_takes_its_place(handle):
    job = ask()

    def ask_again_and_put_off(subject_id, now):
        raise NOT_YET

    handle(ask_again_and_put_off)
    jobs.claim(job.pk, now=NOW)
    newer = jobs.ask_for(KIND, SUBJECT, asked_by=None, now=NOW)
    Job.objects.filter(pk=job.pk).update(claimed_until=NOW)

    ended = jobs.run_job(job.pk, now=NOW)

    assert (ended.state, ended.problem["code"]) == (JobState.PARKED, "superseded")
    assert Job.objects.get(state=JobState.WAITING) == newer
