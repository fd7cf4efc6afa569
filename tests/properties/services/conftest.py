"""A kind of job whose handler the test chooses."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from properties.services import jobs

KIND = "test-work"


@pytest.fixture
def handle(monkeypatch) -> Callable[[jobs.Handler], None]:
    """Return a function that makes its argument the handler of `KIND`."""
    monkeypatch.setitem(jobs._HANDLERS, KIND, lambda subject_id, now: {})
    return lambda handler: monkeypatch.setitem(jobs._HANDLERS, KIND, handler)
