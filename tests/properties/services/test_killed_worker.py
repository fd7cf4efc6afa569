"""`manage.py work`, killed for real in the middle of a job."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
ASK = """
import uuid
from django.utils import timezone
from properties.services.jobs import ask_for
ask_for("slow-work", uuid.uuid4(), asked_by=None, now=timezone.now())
"""


@pytest.fixture
def env(tmp_path) -> dict[str, str]:
    """Return the environment of processes that share one SQLite file."""
    kept = {name: value for name, value in os.environ.items() if name != "REDIS_URL"}
    return {
        **kept,
        "DJANGO_SETTINGS_MODULE": "tests.properties.services.slow_work.settings",
        "DATABASE_URL": f"sqlite:///{tmp_path / 'db.sqlite3'}",
        "VAR_DIR": str(tmp_path / "var"),
        "SLOW_WORK_FOLDER": str(tmp_path),
    }


def manage(env: dict[str, str], *words: str) -> None:
    command = [sys.executable, "manage.py", *words]
    subprocess.run(command, cwd=ROOT, env=env, check=True, capture_output=True)


@contextmanager
def worker(env: dict[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "manage.py", "work", "--pause", "0.05"]
    process = subprocess.Popen(command, cwd=ROOT, env=env, stdout=subprocess.PIPE)
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def wait_until(is_so: Callable[[], bool], what: str) -> None:
    for _ in range(600):
        if is_so():
            return
        time.sleep(0.05)
    pytest.fail(f"waited in vain until {what}")


def stored(folder: Path) -> tuple[str, int, int]:
    """Return the state and the attempts of the job, and how many rows its handler wrote."""
    with closing(sqlite3.connect(folder / "db.sqlite3", timeout=20)) as database:
        (job,) = database.execute("SELECT state, attempts FROM properties_job").fetchall()
        ((count,),) = database.execute("SELECT count(*) FROM properties_customer").fetchall()
    return (*job, count)


def test_a_killed_worker_leaves_no_half_written_rows_and_another_takes_over(env, tmp_path):
    manage(env, "migrate", "--verbosity", "0")
    manage(env, "shell", "-c", ASK)
    (tmp_path / "hang").touch()
    with worker(env) as first:
        wait_until((tmp_path / "written").exists, "the handler has written")
        first.send_signal(signal.SIGKILL)
        assert first.wait() == -signal.SIGKILL

    assert stored(tmp_path) == ("running", 1, 0)

    (tmp_path / "hang").unlink()
    with worker(env) as second:
        wait_until(lambda: stored(tmp_path)[0] == "done", "the second worker is done")
        assert stored(tmp_path) == ("done", 2, 1)

        second.send_signal(signal.SIGTERM)
        assert second.wait(timeout=20) == 0


def test_a_worker_that_is_told_to_stop_ends_the_job_at_hand_first(env, tmp_path):
    manage(env, "migrate", "--verbosity", "0")
    manage(env, "shell", "-c", ASK)
    (tmp_path / "hang").touch()
    with worker(env) as process:
        wait_until((tmp_path / "written").exists, "the handler has written")
        process.send_signal(signal.SIGTERM)
        time.sleep(0.2)
        assert process.poll() is None
        (tmp_path / "hang").unlink()

        assert process.wait(timeout=20) == 0

    assert stored(tmp_path) == ("done", 1, 1)
