"""Real processes, a Redis and a mail server of their own, for one test at a time."""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import socket
import subprocess
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import redis
from django.db import connection

from properties.models import Heartbeat, Job
from scheduling.models import NightRun, Notice, ReminderDay
from tests.reports.faults.clock import Clock
from tests.reports.faults.mail_server import MailServer
from tests.reports.faults.processes import Forked, Forks, wait_for
from tests.reports.faults.table import PROPERTY

SOLO = ("--pool", "solo")
PREFORK = ("--pool", "prefork", "--concurrency", "1")
LEASE_S, SOCKET_TIMEOUT_S = 2.0, 2.0  # as in the settings of the processes


class Stage:
    def __init__(
        self, folder: Path, mail: MailServer, forks: Forks, redis_port: int, outcomes: list[Any]
    ) -> None:
        self.folder, self.mail, self.forks, self.redis_port = folder, mail, forks, redis_port
        self.outcomes = outcomes
        self.clock = Clock(folder)
        self.forked: list[Forked] = []
        self.redis: subprocess.Popen[bytes] | None = None
        self.struck_at = time.monotonic()

    # What runs

    def start_redis(self) -> None:
        command = ["redis-server", "--port", str(self.redis_port), "--bind", "127.0.0.1",
                   "--save", "", "--appendonly", "no", "--dir", str(self.folder)]  # fmt: skip
        with (self.folder / "redis.log").open("ab") as out:
            self.redis = subprocess.Popen(command, stdout=out, stderr=out)
        wait_for(self.redis_answers, "Redis does not answer")

    def stop_redis(self, *, softly: bool = False) -> None:
        if self.redis is not None:
            self.redis.terminate() if softly else self.redis.kill()
            self.redis.wait(20)
            self.redis = None

    def redis_client(self) -> redis.Redis:
        return redis.Redis(port=self.redis_port, socket_timeout=5)

    def redis_answers(self) -> bool:
        with contextlib.suppress(redis.RedisError), self.redis_client() as client:
            return bool(client.ping())
        return False

    def start_worker(
        self, name: str = "one", *, dies: str = "", stays: str = "",
        pool: tuple[str, ...] = SOLO, queues: str = "", settings: dict[str, Any] | None = None,
        celery: dict[str, Any] | None = None,
    ) -> Forked:  # fmt: skip
        options = [*pool, "--without-gossip", "--without-mingle", "-n", f"{name}@here"]
        options += ["-Q", queues] if queues else []
        return self._fork(
            f"worker-{name}", argv=["worker", *options], settings=settings or {},
            celery=celery or {}, env={"FAULTS_DIES": dies, "FAULTS_STAYS": stays},
        )  # fmt: skip

    def kill_at_each(self, *steps: str) -> None:
        """Have one worker after the other die at the first of the steps that nobody came to."""
        for number in range(len(steps)):
            worker = self.start_worker(f"dying-{number}", dies="|".join(steps))
            self.wait_for(worker.was_killed, f"{number} workers died at {steps}, and no more")

    def start_beat(self, name: str = "one") -> Forked:
        schedule = str(self.folder / f"beat-{name}")
        return self._fork(f"beat-{name}", argv=["beat", "-s", schedule, "--pidfile", ""])

    def publish(self, act: str, **words: Any) -> dict[str, Any]:
        """Have a process do its business, and return what it tells."""
        answer = self.folder / "answer"
        act = f"tests.reports.faults.publisher:{act}"
        self._fork("publisher", act=act, words={**words, "answer": str(answer)})
        self.wait_for(answer.exists, "the publisher does not come to an end")
        told: dict[str, Any] = json.loads(answer.read_text())
        return told

    def _fork(self, log: str, *, env: dict[str, str] | None = None, **asked: Any) -> Forked:
        where = {"FAULTS_FOLDER": str(self.folder), **(env or {})}
        process = self.forks.start(log=str(self.folder / f"{log}.log"), env=where, **asked)
        self.forked.append(process)
        return process

    def somebody_came(self) -> bool:
        """Whether a step was reached at which a process dies or stays."""
        return any(self.folder.glob("came *"))

    def let_go(self) -> None:
        (self.folder / "go").touch()

    def has_gone_on(self) -> bool:
        """Whether who stayed at the step went on from there."""
        return (self.folder / "went-on").exists()

    def close(self) -> None:
        for process in self.forked:
            process.end()
        self.stop_redis()

    # What is looked at

    def logs(self) -> str:
        return "\n".join(
            f"== {path.name}\n{path.read_text()[-2000:]}"
            for path in self.folder.glob("worker-*.log")
        )

    def log(self, name: str) -> str:
        return (self.folder / f"{name}.log").read_text()

    def wait_for(self, holds: Callable[[], bool], what: str) -> None:
        wait_for(holds, lambda: f"{what}\n{self.logs()}")

    def settle(self) -> None:
        """Wait until a whole look was taken at the clock as it stands, and nothing is left to do.

        For one worker: it begins a sweep when it has ended the one before.
        """
        self.sweep(after=self.sweep())
        self.wait_for(nothing_is_open, "work is left")

    def sweep(self, *, after: dt.datetime | None = None) -> dt.datetime:
        """Wait for a sweep that begins from now or a moment on, and return when that was."""
        moment = after or self.clock.now()
        self.wait_for(lambda: seen_at() > moment, "nobody sweeps")
        return seen_at()

    def deliveries(self) -> Counter[str]:
        """Return how often each message came, by its Message-ID."""
        return Counter(str(message["Message-ID"]) for message in self.mail.messages)

    # What is said of it

    def strikes(self) -> None:
        """The fault happens now; the table tells how long all took from here."""
        self.struck_at = time.monotonic()

    def row(self, fault: str, note: str = "") -> None:
        took_s = time.monotonic() - self.struck_at
        row = {
            "fault": fault,
            "queued": Notice.objects.count(),
            "sent": Notice.objects.filter(state="sent").count(),
            "seen twice": sum(times > 1 for times in self.deliveries().values()),
            "runs open": open_runs(),
            "seconds": f"{took_s:.1f}",
            "note": note,
        }
        self.outcomes.append((PROPERTY, json.dumps(row)))


@contextlib.contextmanager
def stage(
    folder: Path, mail: MailServer, forks: Forks, redis_port: int, outcomes: list[Any]
) -> Iterator[Stage]:
    """Set a stage; what comes of the faults is added to `outcomes`."""
    mail.messages.clear()
    scene = Stage(folder, mail, forks, redis_port, outcomes)
    try:
        scene.start_redis()
        yield scene
    finally:
        scene.close()


def check(
    scene: Stage, count: int | None = None, *, fault: str, twice: int = 0, note: str = ""
) -> None:
    """Every notice is sent, each was seen once (so many at most twice), nothing is left over.

    With `count` there are to be so many, which the processes queue themselves.
    """
    scene.wait_for(lambda: count in (None, Notice.objects.count()), "not so many are queued")
    scene.wait_for(all_sent, f"not all are sent after: {fault}")
    scene.wait_for(nothing_is_open, f"work is left after: {fault}")
    scene.row(fault, note)
    seen = scene.deliveries()
    assert set(seen) == set(Notice.objects.values_list("message_id", flat=True))
    more = {message for message, times in seen.items() if times > 1}
    assert len(more) <= twice
    assert all(times <= 2 for times in seen.values())
    assert more <= set(
        Notice.objects.filter(may_be_twice=True).values_list("message_id", flat=True)
    )
    assert not Job.objects.exclude(state="done").exists()
    assert open_runs() == 0


def all_sent() -> bool:
    return not Notice.objects.exclude(state="sent").exists()


def some_sent() -> bool:
    return Notice.objects.filter(state="sent").exists()


def nothing_is_open() -> bool:
    return not Job.objects.filter(state__in=("waiting", "running")).exists()


def open_runs() -> int:
    """Count nights and looks for reminders that were begun and not ended."""
    nights = NightRun.objects.exclude(state="done").count()
    return nights + ReminderDay.objects.filter(ended_at=None).count()


def seen_at() -> dt.datetime:
    """Return when the last sweep began."""
    heartbeat = Heartbeat.objects.filter(name="sweep").first()
    return heartbeat.at if heartbeat else dt.datetime.min.replace(tzinfo=dt.UTC)


def database_url() -> str:
    database = connection.settings_dict
    login = f"{database['USER']}:{database['PASSWORD']}".rstrip(":")
    return f"postgres://{login}@{database['HOST']}:{database['PORT'] or 5432}/{database['NAME']}"


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])
