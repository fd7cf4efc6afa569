"""Do background work without a broker, by the same claim path as the Celery tasks."""

from __future__ import annotations

import logging
import signal
import time
from types import FrameType
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandParser
from django.db import InterfaceError, OperationalError, close_old_connections, connection
from django.utils import timezone

from properties.services import jobs
from properties.services.ticks import run_ticks

logger = logging.getLogger(__name__)
TICK_S: Final = 60.0


class Command(BaseCommand):
    help = "Take due jobs and do them until stopped (Ctrl-C, SIGTERM)."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="Stop when nothing is due.")
        parser.add_argument("--pause", type=float, default=0.5, help="Seconds between looks.")

    def handle(self, *args: Any, **options: Any) -> None:
        self.stopping = False
        self.ticks_at = 0.0
        signal.signal(signal.SIGTERM, self._stop)
        signal.signal(signal.SIGINT, self._stop)
        while not self.stopping:
            done = self._do_due() if options["once"] else self._do_due_patiently()
            if options["once"] and not done:
                return
            if not done:
                time.sleep(options["pause"])

    def _do_due_patiently(self) -> int:
        """Live on when the database is away for a moment; the leases bring its work back."""
        close_old_connections()
        try:
            self._run_ticks()
            return self._do_due()
        except (InterfaceError, OperationalError):
            logger.exception("the database did not answer")
            connection.close()
            return 0

    def _run_ticks(self) -> None:
        if time.monotonic() >= self.ticks_at:
            self.ticks_at = time.monotonic() + TICK_S
            run_ticks(timezone.now)

    def _do_due(self) -> int:
        done = 0
        for job_id in jobs.due_job_ids(now=timezone.now()):
            if self.stopping:
                break
            job = jobs.run_job(job_id, now=timezone.now(), clock=timezone.now)
            if job is not None:
                done += 1
                self.stdout.write(f"{job.kind} {job.subject_id}: {job.state}")
        return done

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.stopping = True
