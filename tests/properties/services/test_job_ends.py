"""When a job ends, and how one that was parked is given a new life."""

from __future__ import annotations

import datetime as dt
import itertools

import pytest
from django.conf import settings

from properties.domain.errors import RefusedError
from properties.models import Customer, Event, Job, JobState
from properties.services import jobs
from properties.services.job_subjects import subject_of
from tests.properties.services.job_work import (
    AFTER_LEASE,
    NOW,
    ask,
    write_customer,
    write_then,
)

pytestmark = pytest.mark.django_db
MINUTE = dt.timedelta(minutes=1)


def ticking():
    """Return a clock that is a minute on each time that somebody reads it."""
    moments = (NOW + MINUTE * count for count in itertools.count(1))
    return lambda: next(moments)


def test_a_job_ends_when_its_work_is_over_and_works_at_the_moment_of_its_claim(handle):
    seen = []
    handle(lambda subject_id, now: {"seen": seen.append(now)})

    done = jobs.run_job(ask().pk, now=NOW, clock=ticking())

    assert (done.state, done.ended_at) == ("done", NOW + MINUTE)
    assert seen == [NOW]


def test_a_refused_job_is_parked_when_it_was_refused(handle):
    handle(write_then(RefusedError("No.", code="no", remedy="None.")))

    parked = jobs.run_job(ask().pk, now=NOW, clock=ticking())

    assert (parked.state, parked.ended_at) == ("parked", NOW + MINUTE)


def test_a_broken_job_waits_from_when_it_broke(handle):
    handle(write_then(ZeroDivisionError()))

    again = jobs.run_job(ask().pk, now=NOW, clock=ticking())

    assert (again.state, again.ended_at) == ("waiting", None)
    assert again.due_at == NOW + MINUTE + dt.timedelta(seconds=settings.JOB_RETRY_S)


def test_a_job_whose_worker_died_too_often_is_parked_at_the_end(handle):
    job = ask()
    Job.objects.update(attempts=settings.JOB_ATTEMPTS)

    parked = jobs.run_job(job.pk, now=NOW, clock=ticking())

    assert (parked.problem["code"], parked.ended_at) == ("gave-up", NOW + MINUTE)


def test_a_job_whose_subject_is_gone_ends_in_words(handle, caplog):
    handle(lambda subject_id, now: {"name": subject_of(Customer.objects.all(), subject_id).name})

    job = jobs.run_job(ask().pk, now=NOW)

    assert (job.state, job.ended_at, job.problem) == (JobState.DONE, NOW, {})
    assert job.result == {"gone": "The customer it was for is gone."}
    assert not caplog.records


def test_what_a_handler_wrote_before_it_missed_its_subject_is_undone(handle):
    def write_and_look(subject_id, now):
        write_customer(subject_id, now)
        return {"name": subject_of(Customer.objects.all(), subject_id).name}

    handle(write_and_look)

    assert jobs.run_job(ask().pk, now=NOW).state == JobState.DONE
    assert not Customer.objects.exists()


def test_a_parked_job_is_given_a_new_life(handle, monkeypatch, django_capture_on_commit_callbacks):
    told = []
    monkeypatch.setattr(jobs, "_HINTS", [lambda *what: told.append(what)])
    handle(write_then(RefusedError("No.", code="no", remedy="None.")))
    parked = jobs.run_job(ask().pk, now=NOW)

    with django_capture_on_commit_callbacks(execute=True):
        job = jobs.requeue(parked, now=AFTER_LEASE)

    assert (job.state, job.attempts, job.problem, job.ended_at) == ("waiting", 0, {}, None)
    assert job.due_at == AFTER_LEASE
    assert told == [(job.pk, "default")]


def test_who_wanted_it_run_again_is_remembered_and_what_it_was_parked_for(handle, office):
    handle(write_then(RefusedError("Ingrid has none.", code="no", remedy="None.")))
    parked = jobs.run_job(ask().pk, now=NOW)

    jobs.requeue(parked, actor=office, now=AFTER_LEASE)

    event = Event.objects.get(subject_id=parked.pk)
    assert (event.act, event.actor, event.at) == ("run again", office, AFTER_LEASE)
    assert (event.subject_kind, "Ingrid" in str(event.before)) == ("properties.job", False)
    assert event.before == {"state": "parked", "attempts": 1, "problem": "no"}
    assert event.after == {"state": "waiting", "attempts": 0, "problem": ""}


@pytest.mark.parametrize("state", [JobState.WAITING, JobState.RUNNING, JobState.DONE])
def test_only_a_parked_job_is_requeued(handle, office, state):
    job = ask()
    Job.objects.update(state=state, claimed_until=NOW)

    with pytest.raises(RefusedError) as refused:
        jobs.requeue(job, actor=office, now=NOW)

    assert refused.value.code == "job-not-parked"
    assert Job.objects.get().state == state
    assert not Event.objects.filter(subject_id=job.pk).exists()


def test_a_parked_job_is_not_requeued_beside_one_that_waits(handle):
    parked = ask()
    Job.objects.update(state=JobState.PARKED)
    ask()

    with pytest.raises(RefusedError, match="only one of its kind can wait"):
        jobs.requeue(parked, now=NOW)
