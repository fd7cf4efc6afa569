"""What is looked at each minute: small, cheap, and the same however often it is done.

A higher app registers what it has to look at; the sweep of the Celery workers and the polling
worker both call `run_ticks`. A tick never works itself: it asks for jobs, and the rows it finds say
whether there is anything to ask for, so that two beats do no harm.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime
from typing import Final, Protocol
from uuid import UUID

from properties.models import Heartbeat, Job
from properties.models.jobs import OPEN_STATES
from properties.services.jobs import ask_for

logger = logging.getLogger(__name__)


class Tick(Protocol):
    def __call__(self, *, now: datetime) -> object: ...


_TICKS: Final[dict[str, Tick]] = {}


def register_tick(name: str, tick: Tick) -> None:
    """Have `tick(now=...)` called each minute."""
    _TICKS[name] = tick


def ask_when_idle(kind: str, subject_id: UUID, *, now: datetime) -> Job | None:
    """Ask for what a tick found due, unless a job of that kind and subject waits or runs already.

    So a job that takes longer than a minute gets no second behind it, and one that was put off, or
    rests before its next attempt, is left to its time.
    """
    same = Job.objects.filter(kind=kind, subject_id=subject_id, state__in=OPEN_STATES)
    return None if same.exists() else ask_for(kind, subject_id, asked_by=None, now=now)


def run_ticks(clock: Callable[[], datetime]) -> list[str]:
    """Call all ticks; return the names of those that broke, which keeps no other from its turn."""
    Heartbeat.objects.update_or_create(name="sweep", defaults={"at": clock()})
    broken = []
    for name, tick in _TICKS.items():
        try:
            tick(now=clock())
        except Exception:
            logger.exception("the tick '%s' broke", name)
            broken.append(name)
    return broken
