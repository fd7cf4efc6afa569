"""Real worker and beat processes, a Redis and a mail server of one's own, for one test."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from django.db import connection

from properties.models import Job
from tests.reports.faults.mail_server import MailServer, serving_mail

ROOT = Path(__file__).resolve().parents[3]
PATIENCE_S = 60.0
CELERY = (sys.executable, "-m", "celery", "-A", "config.celery")


class Stage:
    def __init__(self, folder: Path, mail: MailServer) -> None:
        self.folder, self.mail = folder, mail
        self.redis_port = free_port()
        self.processes: list[subprocess.Popen[bytes]] = []
        self.redis: subprocess.Popen[bytes] | None = None

    @property
    def redis_url(self) -> str:
        return f"redis://127.0.0.1:{self.redis_port}/0"

    def start_redis(self) -> None:
        command = ["redis-server", "--port", str(self.redis_port), "--bind", "127.0.0.1",
                   "--save", "", "--appendonly", "no", "--dir", str(self.folder)]  # fmt: skip
        self.redis = self._start(command, "redis")
        wait_for(lambda: is_listening(self.redis_port), "Redis does not listen")

    def kill_redis(self) -> None:
        assert self.redis is not None
        self.redis.kill()
        self.redis.wait(10)

    def start_worker(self, name: str = "one", *, step: str = "") -> subprocess.Popen[bytes]:
        options = ["--pool", "solo", "--without-gossip", "--without-mingle", "-n", f"{name}@here"]
        command = [*CELERY, "worker", *options]
        return self._start(command, f"worker-{name}", FAULTS_STEP=step)

    def start_beat(self, name: str = "one") -> None:
        schedule = str(self.folder / f"beat-{name}")
        self._start([*CELERY, "beat", "-s", schedule, "--pidfile", ""], f"beat-{name}")

    def _start(self, command: list[str], log: str, **more: str) -> subprocess.Popen[bytes]:
        database = connection.settings_dict
        login = f"{database['USER']}:{database['PASSWORD']}".rstrip(":")
        address = f"{database['HOST']}:{database['PORT'] or 5432}/{database['NAME']}"
        env = {
            **os.environ,
            "DJANGO_SETTINGS_MODULE": "tests.reports.faults.settings",
            "DATABASE_URL": f"postgres://{login}@{address}",
            "REDIS_URL": self.redis_url,
            "FAULTS_MAIL_PORT": str(self.mail.port),
            "FAULTS_FOLDER": str(self.folder),
            "VAR_DIR": str(self.folder),
            **more,
        }
        with (self.folder / f"{log}.log").open("ab") as out:
            process = subprocess.Popen(command, cwd=ROOT, env=env, stdout=out, stderr=out)
        self.processes.append(process)
        return process

    def logs(self) -> str:
        return "\n".join(
            f"== {path.name}\n{path.read_text()[-3000:]}" for path in self.folder.glob("*.log")
        )

    def wait_for(self, holds: Callable[[], bool], what: str) -> None:
        wait_for(holds, lambda: f"{what}\n{self.logs()}")

    def deliveries(self) -> Counter[str]:
        """Return how often each message came, by its Message-ID."""
        return Counter(str(message["Message-ID"]) for message in self.mail.messages)

    def close(self) -> None:
        for process in self.processes:
            process.kill()
        for process in self.processes:
            process.wait(10)


@contextlib.contextmanager
def stage(folder: Path) -> Iterator[Stage]:
    with serving_mail() as mail:
        scene = Stage(folder, mail)
        try:
            scene.start_redis()
            yield scene
        finally:
            scene.close()


def wait_for(holds: Callable[[], bool], what: str | Callable[[], str]) -> None:
    until = time.monotonic() + PATIENCE_S
    while not holds():
        if time.monotonic() > until:
            raise AssertionError(what if isinstance(what, str) else what())
        time.sleep(0.05)


def was_killed(process: subprocess.Popen[bytes]) -> bool:
    return process.poll() == -signal.SIGKILL


def nothing_is_open() -> bool:
    return not Job.objects.filter(state__in=("waiting", "running")).exists()


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])


def is_listening(port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.5):
        return True
    return False
