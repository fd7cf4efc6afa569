"""A kind of job for tests with real worker processes: slow while a file says so."""

from __future__ import annotations

import datetime as dt
import os
import time
from pathlib import Path
from uuid import UUID

from django.apps import AppConfig

KIND = "slow-work"
FOLDER = "SLOW_WORK_FOLDER"


class SlowWorkConfig(AppConfig):
    name = "tests.properties.services.slow_work"

    def ready(self) -> None:
        from properties.services.jobs import register_handler

        register_handler(KIND, write_slowly)


def write_slowly(subject_id: UUID, now: dt.datetime) -> dict[str, str]:
    """Write a row, tell that it is written, and hang in the transaction while told to."""
    from properties.models import Customer

    folder = Path(os.environ[FOLDER])
    Customer.objects.create(name=f"of {subject_id}", created_at=now, changed_at=now)
    (folder / "written").touch()
    while (folder / "hang").exists():
        time.sleep(0.02)
    return {"written": str(subject_id)}
