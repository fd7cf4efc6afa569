"""Hints and the sweep, without a broker."""

from __future__ import annotations

import datetime as dt
from uuid import uuid4

import pytest
import time_machine
from kombu.exceptions import OperationalError

from properties import tasks
from properties.services import jobs
from tests import cast

KIND = "test-work"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def done(monkeypatch) -> list:
    subjects: list = []
    monkeypatch.setitem(
        jobs._HANDLERS, KIND, lambda subject_id, now: {"count": subjects.append(subject_id)}
    )
    return subjects


@pytest.fixture(autouse=True)
def sent(monkeypatch) -> list:
    messages: list = []
    monkeypatch.setattr(tasks.run_job, "apply_async", lambda **words: messages.append(words))
    return messages


def ask():
    return jobs.ask_for(KIND, uuid4(), asked_by=None, now=cast.NOW)


def test_a_task_does_the_job_of_its_id_and_running_it_twice_is_once(done):
    job = ask()

    tasks.run_job(job_id=str(job.pk))
    tasks.run_job(job_id=str(job.pk))

    assert done == [job.subject_id]


def test_a_job_ends_by_the_clock_and_not_by_its_beginning(monkeypatch):
    with time_machine.travel(cast.NOW, tick=False) as clock:
        monkeypatch.setitem(
            jobs._HANDLERS, KIND, lambda subject_id, now: {"took": clock.shift(90.0)}
        )
        job = ask()

        tasks.run_job(job_id=str(job.pk))

    job.refresh_from_db()
    assert job.ended_at == cast.NOW + dt.timedelta(seconds=90)


def test_the_sweep_sends_one_hint_for_each_due_job(sent):
    due = {str(ask().pk), str(ask().pk)}
    tasks.run_job(job_id=str(ask().pk))

    tasks.sweep_jobs()

    assert len(sent) == 2
    assert {message["kwargs"]["job_id"] for message in sent} == due


def test_a_commit_sends_a_hint_where_there_is_a_broker(
    sent, settings, django_capture_on_commit_callbacks
):
    settings.REDIS_URL = "redis://broker.example"
    with django_capture_on_commit_callbacks(execute=True):
        job = ask()

    assert sent == [{"kwargs": {"job_id": str(job.pk)}, "queue": "default"}]


def test_hints_go_to_the_queue_of_their_kind(
    sent, settings, monkeypatch, django_capture_on_commit_callbacks
):
    settings.REDIS_URL = "redis://broker.example"
    settings.JOB_QUEUES = {"default": "ours-default", "mail": "ours-mail"}
    monkeypatch.setattr(jobs, "_QUEUES", {})
    jobs.register_handler(KIND, jobs._HANDLERS[KIND], queue="mail")
    with django_capture_on_commit_callbacks(execute=True):
        ask()

    tasks.sweep_jobs()

    assert [message["queue"] for message in sent] == ["ours-mail", "ours-mail"]


def test_a_queue_that_nobody_serves_is_refused():
    with pytest.raises(LookupError, match="no queue 'post'"):
        jobs.register_handler(KIND, jobs._HANDLERS[KIND], queue="post")


def test_without_a_broker_no_hint_is_sent(sent, settings, django_capture_on_commit_callbacks):
    settings.REDIS_URL = ""
    with django_capture_on_commit_callbacks(execute=True):
        ask()

    assert sent == []


def test_a_broker_that_does_not_answer_is_waited_for_once_and_not_by_each(settings, monkeypatch):
    tried = []

    def nobody_answers(**words):
        tried.append(words)
        raise OperationalError("Timeout reading from socket")

    monkeypatch.setattr(tasks.run_job, "apply_async", nobody_answers)
    monkeypatch.setattr(tasks, "_SILENT", {"until": 0.0})
    settings.REDIS_URL, settings.HINT_PAUSE_S = "redis://broker.example", 60
    with pytest.raises(OperationalError):
        tasks.send_hint(uuid4(), "default")

    tasks.send_hint(uuid4(), "default")
    assert len(tried) == 1

    monkeypatch.setitem(tasks._SILENT, "until", 0.0)  # the pause is over
    with pytest.raises(OperationalError):
        tasks.send_hint(uuid4(), "default")
    assert len(tried) == 2


def test_the_sweep_is_on_the_schedule_under_the_name_of_the_task(settings):
    scheduled = {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}

    assert tasks.sweep_jobs.name in scheduled
    assert tasks.run_job.name == "properties.run_job"
