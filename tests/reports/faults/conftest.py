"""Fixtures of the faults: what stands for a whole run, and a clean stage for each test."""

from __future__ import annotations

import pytest

from tests import cast
from tests.reports.faults.gardens import CALM_NIGHT
from tests.reports.faults.mail_server import serving_mail
from tests.reports.faults.processes import forks
from tests.reports.faults.stage import database_url, free_port, stage


@pytest.fixture(autouse=True)
def _now():
    """The processes have a clock of their own, which the stage moves."""


@pytest.fixture(autouse=True)
def _hints_go_nowhere(monkeypatch):
    """This process has another broker in its settings than the workers."""
    monkeypatch.setattr("properties.services.jobs._HINTS", [])


@pytest.fixture(scope="session")
def mail_server():
    with serving_mail() as server:
        yield server


@pytest.fixture(scope="session")
def redis_port():
    return free_port()


@pytest.fixture(scope="session")
def forked_from(django_db_setup, tmp_path_factory, mail_server, redis_port):
    """The process that forks all others; the address of the database is that of the tests'."""
    folder = tmp_path_factory.mktemp("forks")
    with forks(
        folder,
        DJANGO_SETTINGS_MODULE="tests.reports.faults.settings",
        DATABASE_URL=database_url(),
        REDIS_URL=f"redis://127.0.0.1:{redis_port}/0",
        REMAP_SIGTERM="SIGQUIT",
        FAULTS_MAIL_PORT=str(mail_server.port),
        VAR_DIR=str(folder),
    ) as started:
        yield started


@pytest.fixture
def scene(transactional_db, tmp_path, request, mail_server, redis_port, forked_from):
    outcomes = request.node.user_properties
    with stage(tmp_path, mail_server, forked_from, redis_port, outcomes) as scene:
        scene.clock.set(CALM_NIGHT)
        yield scene


@pytest.fixture
def garden(transactional_db):
    cast.make_company()
    return cast.make_property(cast.make_customer(wants_notices=True))
