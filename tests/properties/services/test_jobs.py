"""The life of a job: asked for, claimed by lease, done once, retried, parked, run again."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import transaction

from properties.domain.errors import InvalidInputError, RefusedError
from properties.models import Customer, Job, JobState
from properties.services import jobs
from tests.properties.services.conftest import KIND
from tests.properties.services.job_work import (
    AFTER_LEASE,
    NOW,
    SUBJECT,
    ask,
    write_customer,
    write_then,
)

pytestmark = pytest.mark.django_db


# Asking


def test_asking_makes_a_waiting_row(handle, office):
    job = jobs.ask_for(KIND, SUBJECT, asked_by=office, now=NOW)

    stored = Job.objects.get()
    assert stored == job
    assert (stored.kind, stored.subject_id, stored.asked_by) == (KIND, SUBJECT, office)
    assert (stored.state, stored.attempts, stored.created_at, stored.due_at) == (
        "waiting", 0, NOW, NOW,
    )  # fmt: skip


def test_asking_twice_while_it_waits_is_one_row(handle):
    assert ask() == ask()
    assert Job.objects.count() == 1


def test_asking_for_another_subject_or_kind_is_another_row(handle, monkeypatch):
    monkeypatch.setitem(jobs._HANDLERS, "other", lambda subject_id, now: {})
    ask()
    jobs.ask_for(KIND, uuid4(), asked_by=None, now=NOW)
    jobs.ask_for("other", SUBJECT, asked_by=None, now=NOW)

    assert Job.objects.count() == 3


def test_asking_while_it_runs_makes_a_second_that_waits(handle):
    first = ask()
    jobs.claim(first.pk, now=NOW)

    second = ask()

    assert second != first
    assert sorted(Job.objects.values_list("state", flat=True)) == ["running", "waiting"]


def test_asking_after_it_ended_makes_a_new_one(handle):
    first = ask()
    jobs.run_job(first.pk, now=NOW)

    assert ask() != first


def test_asking_again_moves_a_retry_forward(handle):
    job = ask()
    Job.objects.update(due_at=NOW + dt.timedelta(hours=1))

    ask()

    assert jobs.due_job_ids(now=NOW) == [job.pk]


def test_a_kind_without_handler_cannot_be_asked_for():
    with pytest.raises(LookupError, match="'unheard-of'"):
        jobs.ask_for("unheard-of", SUBJECT, asked_by=None, now=NOW)


def test_workers_are_told_after_the_commit_and_not_before(
    handle, monkeypatch, django_capture_on_commit_callbacks
):
    told = []
    monkeypatch.setattr(jobs, "_HINTS", [lambda *what: told.append(what)])

    with django_capture_on_commit_callbacks(execute=True):
        job = ask()
        assert told == []

    assert told == [(job.pk, "default")]


def test_nobody_is_told_of_work_that_was_rolled_back(
    handle, monkeypatch, django_capture_on_commit_callbacks
):
    told = []
    monkeypatch.setattr(jobs, "_HINTS", [lambda *what: told.append(what)])

    with django_capture_on_commit_callbacks(execute=True), pytest.raises(ZeroDivisionError):
        _ask_and_fail()

    assert told == []
    assert not Job.objects.exists()


@transaction.atomic
def _ask_and_fail() -> None:
    ask()
    raise ZeroDivisionError


def test_a_hint_that_cannot_be_sent_loses_no_work(
    handle, monkeypatch, django_capture_on_commit_callbacks, caplog
):
    def broken(job_id, queue):
        raise ConnectionError("no broker")

    monkeypatch.setattr(jobs, "_HINTS", [broken])

    with django_capture_on_commit_callbacks(execute=True):
        job = ask()

    assert jobs.due_job_ids(now=NOW) == [job.pk]
    assert "no broker" in caplog.text


# Claiming


def test_a_claim_takes_the_job_for_one_lease(handle):
    job = jobs.claim(ask().pk, now=NOW)

    assert (job.state, job.attempts, job.claimed_until) == ("running", 1, AFTER_LEASE)


def test_a_claimed_job_cannot_be_claimed_until_the_lease_is_over(handle):
    job = ask()
    jobs.claim(job.pk, now=NOW)

    just_before = AFTER_LEASE - dt.timedelta(microseconds=1)
    assert jobs.claim(job.pk, now=NOW) is None
    assert jobs.claim(job.pk, now=just_before) is None
    assert jobs.claim(job.pk, now=AFTER_LEASE).attempts == 2


def test_what_is_not_due_is_not_claimed(handle):
    job = ask(NOW + dt.timedelta(seconds=1))

    assert jobs.claim(job.pk, now=NOW) is None
    assert jobs.claim(uuid4(), now=NOW) is None


@pytest.mark.parametrize("state", [JobState.DONE, JobState.PARKED])
def test_what_has_ended_is_not_claimed(handle, state):
    job = ask()
    Job.objects.update(state=state)

    assert jobs.claim(job.pk, now=AFTER_LEASE) is None
    assert jobs.run_job(job.pk, now=AFTER_LEASE) is None


def test_due_jobs_come_oldest_first_and_up_to_a_limit(handle):
    made = [
        jobs.ask_for(KIND, uuid4(), asked_by=None, now=NOW - dt.timedelta(minutes=minute))
        for minute in range(5)
    ]

    assert jobs.due_job_ids(now=NOW) == [job.pk for job in reversed(made)]
    assert jobs.due_job_ids(now=NOW, limit=2) == [made[4].pk, made[3].pk]


# Doing


def test_a_job_is_done_with_its_result_in_one_transaction(handle):
    handle(write_customer)

    job = jobs.run_job(ask().pk, now=NOW)

    customer = Customer.objects.get()
    assert (job.state, job.result, job.problem) == ("done", {"customer": str(customer.pk)}, {})
    assert (job.ended_at, job.claimed_until) == (NOW, None)
    assert customer.name == f"of {SUBJECT}"


def test_running_it_twice_does_it_once(handle):
    handle(write_customer)
    job = ask()

    first, second = jobs.run_job(job.pk, now=NOW), jobs.run_job(job.pk, now=NOW)

    assert first.state == "done"
    assert second is None
    assert Customer.objects.count() == 1


def test_the_handler_is_given_the_subject_and_the_moment(handle):
    seen = []
    handle(lambda subject_id, now: seen.append((subject_id, now)) or {})

    jobs.run_job(ask().pk, now=NOW)

    assert seen == [(SUBJECT, NOW)]


# Breaking and refusing


def test_a_handler_that_breaks_leaves_nothing_and_is_tried_again_later(handle, settings):
    settings.JOB_RETRY_S = 30
    handle(write_then(ZeroDivisionError("secret detail")))

    job = jobs.run_job(ask().pk, now=NOW)

    assert (job.state, job.attempts, job.claimed_until) == ("waiting", 1, None)
    assert job.problem == {"code": "broke", "detail": "ZeroDivisionError in attempt 1"}
    assert job.due_at == NOW + dt.timedelta(seconds=30)
    assert not Customer.objects.exists()


def test_each_retry_waits_longer(handle, settings):
    settings.JOB_RETRY_S = 30
    handle(write_then(ZeroDivisionError()))
    job = jobs.run_job(ask().pk, now=NOW)

    again = jobs.run_job(job.pk, now=job.due_at)

    assert again.due_at - job.due_at == dt.timedelta(seconds=60)


def test_a_handler_that_keeps_breaking_is_parked_with_the_last_reason(handle):
    handle(write_then(ZeroDivisionError()))
    job = ask()
    states = [jobs.run_job(job.pk, now=NOW).state for _ in range(settings.JOB_ATTEMPTS)]

    parked = Job.objects.get()
    assert states == ["waiting", "waiting", "parked"]
    assert parked.problem == {"code": "broke", "detail": "ZeroDivisionError in attempt 3"}
    assert parked.ended_at == NOW
    assert jobs.due_job_ids(now=AFTER_LEASE) == []


def test_what_broke_is_logged_with_its_traceback(handle, caplog):
    handle(write_then(ZeroDivisionError("the inner reason")))
    jobs.run_job(ask().pk, now=NOW)

    assert "the inner reason" in caplog.text


def test_a_job_that_breaks_once_can_still_be_done(handle):
    handle(write_then(ZeroDivisionError()))
    job = jobs.run_job(ask().pk, now=NOW)
    handle(write_customer)

    done = jobs.run_job(job.pk, now=NOW)

    assert (done.state, done.attempts, done.problem) == ("done", 2, {})


@pytest.mark.parametrize(
    "refusal",
    [
        RefusedError("There is no weather.", code="no-weather", remedy="Import some."),
        InvalidInputError(
            "There is no weather.", field="x", code="no-weather", remedy="Import some."
        ),
    ],
)
def test_a_handler_that_refuses_is_parked_at_once_with_reason_and_remedy(handle, refusal):
    handle(write_then(refusal))

    job = jobs.run_job(ask().pk, now=NOW)

    assert (job.state, job.attempts, job.ended_at) == ("parked", 1, NOW)
    assert job.problem == {
        "code": "no-weather",
        "detail": "There is no weather.",
        "remedy": "Import some.",
    }
    assert not Customer.objects.exists()


def test_a_kind_that_lost_its_handler_is_retried_and_parked(handle, monkeypatch):
    job = ask()
    monkeypatch.delitem(jobs._HANDLERS, KIND)
    for _ in range(settings.JOB_ATTEMPTS):
        jobs.run_job(job.pk, now=NOW)

    assert Job.objects.get().state == "parked"


def test_a_retry_gives_way_to_a_newer_job_that_waits(handle):
    def ask_and_break(subject_id, now):
        raise ZeroDivisionError

    handle(ask_and_break)
    first = ask()
    claimed = jobs.claim(first.pk, now=NOW)
    second = ask()

    ended = jobs._attempt(claimed, NOW)

    assert (ended.state, ended.problem["code"]) == ("parked", "superseded")
    assert jobs.due_job_ids(now=NOW) == [second.pk]


# Asking for many at once


def test_many_are_asked_for_in_few_queries_and_each_waits_once(
    handle, monkeypatch, django_assert_num_queries, django_capture_on_commit_callbacks
):
    told = []
    monkeypatch.setattr(jobs, "_HINTS", [lambda job_id, queue: told.append(job_id)])
    early = ask()
    Job.objects.update(due_at=NOW + dt.timedelta(hours=1))
    subjects = [SUBJECT, *(uuid4() for _ in range(9))]

    with django_assert_num_queries(4), django_capture_on_commit_callbacks(execute=True):
        made = jobs.ask_for_each(KIND, subjects, now=NOW)

    assert {job.subject_id for job in made} == set(subjects)
    assert early in made
    assert {job.due_at for job in Job.objects.all()} == {NOW}
    assert set(told) == {job.pk for job in made}
    assert Job.objects.count() == 10


def test_asking_for_none_is_nothing(handle):
    assert jobs.ask_for_each(KIND, [], now=NOW) == []


def test_asking_for_many_of_an_unknown_kind_is_refused():
    with pytest.raises(LookupError, match="no handler"):
        jobs.ask_for_each("nobody-does-this", [SUBJECT], now=NOW)


# Hints


def test_a_broker_that_is_away_is_asked_once_for_many_jobs(
    handle, monkeypatch, django_capture_on_commit_callbacks
):
    asked = []

    def fail(job_id, queue):
        asked.append(job_id)
        raise ConnectionError

    monkeypatch.setattr(jobs, "_HINTS", [fail])
    with django_capture_on_commit_callbacks(execute=True):
        made = jobs.ask_for_each(KIND, [uuid4() for _ in range(5)], now=NOW)

    assert len(asked) == 1
    assert {job_id for job_id, _ in jobs.due_hints(now=NOW)} == {job.pk for job in made}


def test_a_long_row_of_mail_keeps_no_other_queue_from_its_turn(handle, monkeypatch):
    monkeypatch.setitem(jobs._HANDLERS, "mail-work", handle)
    monkeypatch.setitem(jobs._QUEUES, "mail-work", "mail")
    jobs.ask_for_each("mail-work", [uuid4() for _ in range(5)], now=NOW)
    unknown = Job.objects.create(kind="of-an-older-version", subject_id=SUBJECT, created_at=NOW,
                                 due_at=NOW + dt.timedelta(seconds=1))  # fmt: skip
    job = jobs.ask_for(KIND, SUBJECT, asked_by=None, now=NOW + dt.timedelta(seconds=2))

    hints = jobs.due_hints(now=NOW + dt.timedelta(seconds=3), limit=2)

    assert [queue for _, queue in hints] == ["default", "default", "mail", "mail"]
    assert {job_id for job_id, queue in hints if queue == "default"} == {unknown.pk, job.pk}
