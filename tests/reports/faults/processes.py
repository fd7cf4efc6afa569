"""Handles of the forked processes, and the one that forks them."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[3]
PATIENCE_S = 120.0  # a machine may do much else; who waits goes on as soon as he can


class Forked:
    """A process that is no child of ours; its exit code is left in a file."""

    def __init__(self, pid: int, exits: Path) -> None:
        self.pid, self.path = pid, exits / str(pid)

    def poll(self) -> int | None:
        return int(self.path.read_text()) if self.path.exists() else None

    def was_killed(self) -> bool:
        return self.poll() == -signal.SIGKILL

    def send(self, number: signal.Signals) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def end(self) -> None:
        """Kill it with all that it started, and wait until it is gone."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.pid, signal.SIGKILL)
        wait_for(lambda: self.poll() is not None, f"{self.pid} lives on")


class Forks:
    def __init__(self, process: subprocess.Popen[str], exits: Path) -> None:
        self.process, self.exits = process, exits

    def start(self, **asked: Any) -> Forked:
        words = {"settings": {}, "celery": {}, "env": {}, **asked}
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(json.dumps(words) + "\n")
        self.process.stdin.flush()
        pid = int(self.process.stdout.readline())
        return Forked(pid, self.exits)


@contextlib.contextmanager
def forks(folder: Path, **env: str) -> Iterator[Forks]:
    exits = folder / "exits"
    exits.mkdir()
    with (folder / "forks.log").open("ab") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.reports.faults.forks"],
            cwd=ROOT, env={**os.environ, **env, "FAULTS_EXITS": str(exits)}, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=log,
        )  # fmt: skip
    with process:
        yield Forks(process, exits)
        assert process.stdin is not None
        process.stdin.close()
        process.wait(20)


def wait_for(holds: Callable[[], bool], what: str | Callable[[], str]) -> None:
    until = time.monotonic() + PATIENCE_S
    while not holds():
        if time.monotonic() > until:
            raise AssertionError(what if isinstance(what, str) else what())
        time.sleep(0.03)
