"""Processes in no time: forked from one that has loaded everything, each real and on its own.

Each line on standard input asks for one, as JSON; its process id is answered. How a process ended
is left in a file of its number. With the end of the input all of them end.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import select
import signal
import sys
import traceback
from pathlib import Path
from typing import Any

from django.conf import settings

from config.celery import app


def main() -> None:
    app.loader.import_default_modules()
    exits = Path(os.environ["FAULTS_EXITS"])
    children: set[int] = set()
    while True:
        ready, _, _ = select.select([0], [], [], 0.02)
        if ready:
            line = sys.stdin.readline()
            if not line:
                break
            pid = fork(json.loads(line))
            children.add(pid)
            print(pid, flush=True)
        reap(children, exits)
    for pid in children:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)


def reap(children: set[int], exits: Path) -> None:
    for pid in list(children):
        ended, status = os.waitpid(pid, os.WNOHANG)
        if ended:
            children.discard(pid)
            draft = exits / f"{pid}.draft"
            draft.write_text(str(os.waitstatus_to_exitcode(status)))
            draft.replace(exits / str(pid))


def fork(asked: dict[str, Any]) -> int:
    pid = os.fork()
    if pid:
        with contextlib.suppress(OSError):  # it did it already, or is gone
            os.setpgid(pid, pid)
        return pid
    code = 1
    try:
        os.setpgid(0, 0)
        turn_output_to(asked["log"])
        code = live(asked)
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def turn_output_to(log: str) -> None:
    out = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    nothing = os.open(os.devnull, os.O_RDONLY)
    for number, target in ((nothing, 0), (out, 1), (out, 2)):
        os.dup2(number, target)


def live(asked: dict[str, Any]) -> int:
    os.environ.update(asked["env"])
    for name, value in asked["settings"].items():
        setattr(settings, name, value)
    app.conf.update(asked["celery"])
    if "act" in asked:
        module, name = asked["act"].split(":")
        getattr(importlib.import_module(module), name)(**asked["words"])
        return 0
    try:
        return int(app.start(asked["argv"]) or 0)
    except SystemExit as end:
        return int(end.code or 0)


if __name__ == "__main__":
    main()
