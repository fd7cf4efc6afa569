"""The two processes of the product on one machine: a web server and a worker."""

from __future__ import annotations

import contextlib
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from django.conf import settings

HOST: Final = "127.0.0.1"
START_TIMEOUT_S: Final = 30.0
STOP_TIMEOUT_S: Final = 10.0


def free_port() -> int:
    """Return a port that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
        return port


def web_command(port: int) -> list[str]:
    """Return the command line of a web server with one process and a few threads."""
    return [
        sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"{HOST}:{port}",
        "--worker-class", "gthread", "--threads", "4", "--log-level", "warning",
    ]  # fmt: skip


def worker_command() -> list[str]:
    """Return the command line of a worker: Celery where there is a broker, else the polling one."""
    if settings.REDIS_URL:
        return [
            sys.executable, "-m", "celery", "-A", "config.celery", "worker", "--beat",
            "--schedule", str(settings.VAR_DIR / "beat"), "--concurrency", "1",
            "--loglevel", "WARNING",
        ]  # fmt: skip
    return [sys.executable, "manage.py", "work"]


@contextlib.contextmanager
def running(port: int, log_dir: Path | None = None) -> Iterator[str]:
    """Run both processes and yield the server's address; both are stopped at the end.

    Their output goes to files in `log_dir`, or to this terminal.
    """
    with contextlib.ExitStack() as stack:
        for name, command in (("web", web_command(port)), ("worker", worker_command())):
            log = stack.enter_context((log_dir / f"{name}.log").open("w")) if log_dir else None
            process = subprocess.Popen(command, cwd=settings.BASE_DIR, stdout=log, stderr=log)
            stack.callback(_stop, process)
        base_url = f"http://{HOST}:{port}"
        _wait_for(f"{base_url}/healthz")
        yield base_url


def _stop(process: subprocess.Popen[bytes]) -> None:
    process.terminate()
    try:
        process.wait(STOP_TIMEOUT_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _wait_for(url: str) -> None:
    deadline = time.monotonic() + START_TIMEOUT_S
    while True:
        try:
            urllib.request.urlopen(url, timeout=2).close()
        except (urllib.error.URLError, OSError):
            if time.monotonic() > deadline:
                raise
            time.sleep(0.1)
        else:
            return
