"""How Celery is set: each value that keeps work from being lost, doubled or stuck."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings

from config.celery import app
from config.settings import base
from properties.tasks import run_job, sweep_jobs

ROOT = Path(__file__).resolve().parents[2]
PUT_OFF = re.compile(r"\b(countdown|eta)=|\.retry\(|default_retry_delay|autoretry_for")
VALUES = {
    "task_acks_late": True,
    "task_reject_on_worker_lost": True,
    "task_ignore_result": True,
    "result_backend": None,
    "task_serializer": "json",
    "result_serializer": "json",
    "event_serializer": "json",
    "accept_content": ["json"],
    "task_time_limit": 300,
    "task_soft_time_limit": 270,
    "worker_prefetch_multiplier": 1,
    "worker_max_tasks_per_child": 500,
    "worker_soft_shutdown_timeout": 30,
    "worker_cancel_long_running_tasks_on_connection_loss": True,
    "broker_connection_retry_on_startup": True,
    "broker_connection_max_retries": None,
    "task_publish_retry_policy": {"max_retries": 1, "interval_max": 0.2},
    "visibility_timeout": 3600,
    "result_backend_transport_options": {"visibility_timeout": 3600},
    "task_always_eager": False,
    "task_default_queue": "default",
}
BROKER_OPTIONS = {
    "visibility_timeout": 3600,
    "unacked_restore_interval": 10,
    "unacked_restore_throttle": 1,
    "socket_timeout": 10,
    "socket_connect_timeout": 3,
    "socket_keepalive": True,
    "health_check_interval": 25,
}


@pytest.mark.parametrize("name", VALUES)
def test_celery_runs_with(name):
    assert app.conf[name] == VALUES[name]


@pytest.mark.parametrize("name", BROKER_OPTIONS)
def test_the_broker_is_reached_with(name):
    assert app.conf.broker_transport_options[name] == BROKER_OPTIONS[name]


def test_a_message_is_not_given_to_another_before_its_task_must_have_ended():
    assert app.conf.broker_transport_options["visibility_timeout"] > 2 * app.conf.task_time_limit


def test_nothing_is_put_off_by_a_message():
    """It would be given to another each time that it waits longer than the visibility timeout."""
    for app_name in ("config", "properties", "audits", "scheduling", "reports"):
        for path in (ROOT / app_name).rglob("tasks*.py"):
            assert not PUT_OFF.search(path.read_text()), path


def test_a_message_carries_ids_alone():
    for task in (run_job, sweep_jobs):
        hints = {name: hint for name, hint in task.run.__annotations__.items() if name != "return"}
        assert all(name.endswith("_id") for name in hints)


def test_a_connection_to_the_database_is_kept_a_while_and_looked_at_before_use(monkeypatch):
    """No pool: a worker that forks would share its connections (Celery closes it at each task)."""
    monkeypatch.setenv("DATABASE_URL", "postgres://app@database.example/app")

    database = base._database()

    assert (database["CONN_MAX_AGE"], database["CONN_HEALTH_CHECKS"]) == (60, True)
    assert "pool" not in database.get("OPTIONS", {})


def test_a_worker_that_is_stopped_has_time_to_end_within_the_grace_of_a_minute():
    assert 2 * app.conf.worker_soft_shutdown_timeout <= 60


def test_a_broker_that_does_not_answer_is_not_waited_for_by_each_request():
    assert app.conf.beat_schedule["sweep-jobs"]["schedule"] <= base.HINT_PAUSE_S


def test_a_row_is_not_taken_over_before_its_task_must_have_ended():
    assert 2 * app.conf.task_time_limit <= base.JOB_LEASE_S


def test_a_worker_serves_every_queue_unless_told_otherwise():
    names = {queue.name for queue in app.conf.task_queues}

    assert names == set(settings.JOB_QUEUES.values()) == {"default", "mail", "pdf"}


def test_tasks_take_the_options_of_all():
    assert run_job.acks_late
    assert run_job.reject_on_worker_lost
    assert run_job.ignore_result


def test_the_schedule_is_static_and_each_entry_has_a_task():
    app.loader.import_default_modules()

    for name, entry in app.conf.beat_schedule.items():
        assert entry["task"] in app.tasks, name
    assert "django_celery_beat" not in settings.INSTALLED_APPS


def test_sweeps_that_nobody_took_are_no_use_by_the_next_one():
    sweep = app.conf.beat_schedule["sweep-jobs"]

    assert sweep["options"] == {"expires": sweep["schedule"]}
