"""Reading from a stranger's socket so that no wait outlives one deadline."""

from __future__ import annotations

import io
import queue
import random
import socket
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Limits:
    """How long and how much at most."""

    connect_s: float
    read_s: float
    total_s: float
    body_bytes: int
    tries: int
    pause_s: float
    longest_pause_s: float


@dataclass(frozen=True)
class Surroundings:
    """What tests put in place of time and chance."""

    clock: Callable[[], float] = time.monotonic
    sleep: Callable[[float], None] = time.sleep
    chance: Callable[[], float] = field(default_factory=lambda: random.SystemRandom().random)
    wall_clock: Callable[[], float] = time.time


class Deadline:
    def __init__(self, limits: Limits, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._end = clock() + limits.total_s

    def left_s(self) -> float:
        """Return what is left, or end the attempt."""
        left = self._end - self._clock()
        if left <= 0:
            raise TimeoutError
        return left

    def allows(self, pause_s: float) -> bool:
        return self._clock() + pause_s < self._end


def connected(host: str, port: int, limits: Limits, deadline: Deadline) -> socket.socket:
    """Return a socket to the first address of the host that answers.

    Raises
    ------
    TimeoutError
        When looking up the name or all its addresses take longer than connecting may.
    OSError, UnicodeError
        For a name that is unknown or can be none, and for a host that refuses.
    """
    addresses = _looked_up(host, port, min(limits.connect_s, deadline.left_s()))
    for at, (family, kind, protocol, _, address) in enumerate(addresses, start=1):
        sock = socket.socket(family, kind, protocol)
        try:
            sock.settimeout(min(limits.connect_s, deadline.left_s()))
            sock.connect(address)
        except OSError:
            sock.close()
            if at == len(addresses):
                raise
        else:
            return sock
    raise OSError("the name has no address")


def _looked_up(host: str, port: int, wait_s: float) -> list[Any]:
    """Look a name up in a thread of its own, since the system's look-up cannot be interrupted."""
    found: queue.SimpleQueue[list[Any] | Exception] = queue.SimpleQueue()

    def look_up() -> None:
        try:
            found.put(socket.getaddrinfo(host, port, type=socket.SOCK_STREAM))
        except (OSError, UnicodeError) as error:
            found.put(error)

    threading.Thread(target=look_up, daemon=True).start()
    try:
        outcome = found.get(timeout=wait_s)
    except queue.Empty:
        raise TimeoutError from None
    if isinstance(outcome, Exception):
        raise outcome
    return outcome


class _Reader(io.RawIOBase):
    """Bytes of a socket, each wait of which ends by the deadline."""

    def __init__(self, sock: socket.socket, read_s: float, deadline: Deadline) -> None:
        self._sock, self._read_s, self._deadline = sock, read_s, deadline

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        self._sock.settimeout(min(self._read_s, self._deadline.left_s()))
        return self._sock.recv_into(buffer)


class BoundedSocket:
    """What `http.client` needs of a socket. Closing is left to the connection's owner."""

    def __init__(self, sock: socket.socket, limits: Limits, deadline: Deadline) -> None:
        self._sock, self._limits, self._deadline = sock, limits, deadline

    def sendall(self, data: bytes) -> None:
        self._sock.settimeout(self._deadline.left_s())
        self._sock.sendall(data)

    def makefile(self, mode: str) -> io.BufferedReader:
        return io.BufferedReader(_Reader(self._sock, self._limits.read_s, self._deadline))

    def close(self) -> None:
        pass
