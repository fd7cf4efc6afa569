"""Alive and ready are two things."""

from __future__ import annotations

import pytest
from django.db import InterfaceError, OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client

from config import health


def test_being_alive_touches_nothing():
    """No database is allowed in this test."""
    answer = Client().get("/healthz")

    assert (answer.status_code, answer.json()) == (200, {"alive": True})


def test_ready_is_who_has_a_database(db):
    answer = Client().get("/readyz")

    assert (answer.status_code, answer.json()) == (200, {"ready": True})


@pytest.mark.parametrize("error", [OperationalError("gone"), InterfaceError("closed")])
def test_whose_database_is_away_is_not_ready_and_does_not_say_why(db, monkeypatch, error):
    def broken():
        raise error

    with monkeypatch.context() as away:
        away.setattr(connection, "cursor", broken)
        answer = Client().get("/readyz")

    assert (answer.status_code, answer.json()) == (503, {"ready": False})


def test_whose_database_lacks_a_migration_is_not_ready_until_it_is_there(db, monkeypatch):
    monkeypatch.setattr(health, "_SEEN_MIGRATED", set())
    newest = MigrationRecorder.Migration.objects.filter(app="reports").last()
    newest.delete()

    assert Client().get("/readyz").status_code == 503

    MigrationRecorder(connection).record_applied("reports", newest.name)
    assert Client().get("/readyz").status_code == 200
