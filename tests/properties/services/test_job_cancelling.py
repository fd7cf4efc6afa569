"""Work is called off before it begins, and not after."""

from __future__ import annotations

from uuid import uuid4

import pytest

from properties.domain.errors import RefusedError
from properties.models import Event, Job, JobState
from properties.services import jobs
from properties.services.job_cancelling import cancel_job
from tests import cast
from tests.properties.api.bodies import API


@pytest.fixture
def job(technician):
    values = {"kind": "plans", "subject_id": uuid4(), "created_at": cast.NOW, "due_at": cast.NOW}
    return Job.objects.create(asked_by=technician, **values)


def test_a_waiting_job_is_called_off_and_no_worker_takes_it(office, job):
    cancelled = cancel_job(job, actor=office, now=cast.NOW)

    assert (cancelled.state, cancelled.problem["code"]) == (JobState.PARKED, "cancelled")
    assert cancelled.ended_at == cast.NOW
    assert jobs.run_job(job.pk, now=cast.NOW) is None
    event = Event.objects.get(subject_id=job.pk)
    assert (event.act, event.actor) == ("cancelled", office)


def test_twice_is_once(office, job):
    first = cancel_job(job, actor=office, now=cast.NOW)

    assert cancel_job(job, actor=office, now=cast.NOW) == first
    assert Event.objects.filter(subject_id=job.pk).count() == 1


@pytest.mark.parametrize("state", [JobState.RUNNING, JobState.DONE, JobState.PARKED])
def test_what_has_begun_is_not_called_off(office, job, state):
    Job.objects.update(state=state, claimed_until=cast.NOW)

    with pytest.raises(RefusedError) as refused:
        cancel_job(job, actor=office, now=cast.NOW)

    assert refused.value.code == "job-begun"
    assert Job.objects.get().state == state


def test_the_office_has_it_run_again(office, job):
    cancel_job(job, actor=office, now=cast.NOW)

    again = jobs.requeue(Job.objects.get(), actor=office, now=cast.NOW)

    assert (again.state, again.problem) == (JobState.WAITING, {})


def test_who_asked_for_it_calls_it_off_and_no_stranger(technician_api, outsider_api, job):
    url = f"{API}/jobs/{job.pk}/cancel"

    assert outsider_api.post(url).status_code == 404
    answer = technician_api.post(url)
    assert (answer.status_code, answer.json()["state"]) == (200, "parked")
