"""Workers that die, lose their lease, or come late: nothing is half-written, nothing done twice."""

from __future__ import annotations

import datetime as dt

import pytest
from django.conf import settings

from properties.domain.errors import RefusedError
from properties.models import Customer, Job, JobState
from properties.services import jobs
from tests.properties.services.job_work import (
    AFTER_LEASE,
    NOW,
    WorkerDied,
    ask,
    write_customer,
    write_then,
)

pytestmark = pytest.mark.django_db


def test_a_worker_that_dies_leaves_no_half_written_rows_and_is_taken_over(handle):
    handle(write_then(WorkerDied()))
    job = ask()
    with pytest.raises(WorkerDied):
        jobs.run_job(job.pk, now=NOW)
    assert not Customer.objects.exists()
    assert Job.objects.get().state == "running"
    assert jobs.due_job_ids(now=NOW) == []

    handle(write_customer)
    assert jobs.due_job_ids(now=AFTER_LEASE) == [job.pk]
    done = jobs.run_job(job.pk, now=AFTER_LEASE)

    assert (done.state, done.attempts) == ("done", 2)
    assert Customer.objects.count() == 1


def test_a_job_that_kills_every_worker_is_given_up(handle):
    handle(write_then(WorkerDied()))
    job, now = ask(), NOW
    for _ in range(settings.JOB_ATTEMPTS):
        with pytest.raises(WorkerDied):
            jobs.run_job(job.pk, now=now)
        now += dt.timedelta(seconds=settings.JOB_LEASE_S)

    parked = jobs.run_job(job.pk, now=now)

    assert (parked.state, parked.problem["code"]) == ("parked", "gave-up")
    assert not Customer.objects.exists()


def overtaken_by(takeover) -> jobs.Handler:
    """A slow handler: while it works, its lease runs out and another worker acts."""

    def handler(subject_id, now):
        takeover()
        return write_customer(subject_id, now)

    return handler


def test_a_worker_that_lost_its_lease_has_its_writes_undone(handle):
    job = ask()

    def taken_over_and_not_yet_done():
        handle(write_customer)
        jobs.claim(job.pk, now=AFTER_LEASE)

    handle(overtaken_by(taken_over_and_not_yet_done))
    assert jobs.run_job(job.pk, now=NOW) is None
    assert not Customer.objects.exists()


@pytest.mark.parametrize(
    "ending",
    [
        ZeroDivisionError(),
        RefusedError("No.", code="no", remedy="None."),
    ],
)
def test_a_worker_that_lost_its_lease_and_fails_touches_nothing(handle, ending):
    """The takeover is committed by another worker, so it must outlive our rollback."""
    job = ask()
    claimed = jobs.claim(job.pk, now=NOW)
    taken_over = jobs.claim(job.pk, now=AFTER_LEASE)
    handle(write_then(ending))

    with pytest.raises(jobs.LeaseLostError):
        jobs._attempt(claimed, NOW)

    stored = Job.objects.get()
    assert (stored.state, stored.attempts) == ("running", 2)
    assert stored.claimed_until == taken_over.claimed_until
    assert not Customer.objects.exists()


@pytest.mark.parametrize("ending", [ZeroDivisionError(), RefusedError("No.", code="n", remedy="")])
def test_losing_the_lease_never_breaks_the_worker(handle, monkeypatch, ending):
    job = ask()
    stale = jobs.claim(job.pk, now=NOW)
    jobs.claim(job.pk, now=AFTER_LEASE)
    monkeypatch.setattr(jobs, "claim", lambda job_id, now: stale)
    handle(write_then(ending))

    assert jobs.run_job(job.pk, now=NOW) is None


def test_a_worker_from_before_a_requeue_does_not_take_the_new_run_for_its_own(handle):
    """Both runs are attempt 1; only the lease tells them apart."""
    handle(write_customer)
    job = ask()
    stale = jobs.claim(job.pk, now=NOW)
    Job.objects.update(state=JobState.PARKED, claimed_until=None)
    jobs.requeue(Job.objects.get(), now=AFTER_LEASE)
    fresh = jobs.claim(job.pk, now=AFTER_LEASE)
    assert (stale.attempts, fresh.attempts) == (1, 1)

    with pytest.raises(jobs.LeaseLostError):
        jobs._attempt(stale, NOW)

    assert not Customer.objects.exists()
    assert Job.objects.get().state == "running"
