"""How the tests do the background work that is due."""

from __future__ import annotations

from io import StringIO
from unittest import mock

from django.core.management import call_command


def work() -> str:
    """Run `manage.py work --once` in the test's own transaction; return what it says."""
    out = StringIO()
    with mock.patch("properties.management.commands.work.close_old_connections"):
        call_command("work", once=True, stdout=out)
    return out.getvalue()
