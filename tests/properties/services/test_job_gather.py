"""What a job gathers before its transaction begins."""

from __future__ import annotations

import pytest
from django.db import connection

from properties.domain.errors import RefusedError
from properties.models import Customer, JobState
from properties.services import jobs
from tests.properties.services.conftest import KIND
from tests.properties.services.job_work import NOW, SUBJECT, ask, write_customer

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def gather(monkeypatch):
    return lambda step: monkeypatch.setitem(jobs._GATHERS, KIND, step)


def test_the_handler_gets_what_was_gathered_outside_of_its_transaction(handle, gather):
    seen = []

    def look(subject_id, now):
        seen.append((subject_id, now, connection.in_atomic_block))
        return "what they said"

    gather(look)
    handle(lambda subject_id, now, said: {"said": said, "inside": connection.in_atomic_block})

    job = jobs.run_job(ask().pk, now=NOW)

    assert seen == [(SUBJECT, NOW, False)]
    assert (job.state, job.result) == (JobState.DONE, {"said": "what they said", "inside": True})


def test_a_refusal_while_gathering_parks_the_job(handle, gather):
    def refuse(subject_id, now):
        raise RefusedError("Nobody to ask.", code="nobody", remedy="Name somebody.")

    gather(refuse)
    handle(lambda subject_id, now, said: write_customer(subject_id, now))

    job = jobs.run_job(ask().pk, now=NOW)

    assert job.state == JobState.PARKED
    assert job.problem == {
        "code": "nobody", "detail": "Nobody to ask.", "remedy": "Name somebody.",
    }  # fmt: skip
    assert not Customer.objects.exists()


def test_what_breaks_while_gathering_is_tried_again(handle, gather):
    answers = iter([ConnectionError("cut"), "here"])

    def ask_a_stranger(subject_id, now):
        if isinstance(answer := next(answers), Exception):
            raise answer
        return answer

    gather(ask_a_stranger)
    handle(lambda subject_id, now, said: {"said": said})
    job = ask()

    assert jobs.run_job(job.pk, now=NOW).state == JobState.WAITING
    assert jobs.run_job(job.pk, now=NOW).result == {"said": "here"}


def test_kinds_without_a_gather_are_registered_as_before(monkeypatch):
    monkeypatch.setattr(jobs, "_HANDLERS", {})
    monkeypatch.setattr(jobs, "_GATHERS", {})
    monkeypatch.setattr(jobs, "_QUEUES", {})

    jobs.register_handler("plain", write_customer)
    jobs.register_handler("asking", write_customer, gather=lambda subject_id, now: 1)

    assert set(jobs._HANDLERS) == {"plain", "asking"}
    assert set(jobs._GATHERS) == {"asking"}
