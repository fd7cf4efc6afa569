"""A source of forecasts on this machine that answers as it is told, well or badly."""

from __future__ import annotations

import contextlib
import json
import socket
import threading
from collections.abc import Callable, Iterator
from typing import Any

Answer = bytes | Callable[[socket.socket], None]


def answer(
    body: bytes | dict[str, Any] = b"{}",
    *,
    status: int = 200,
    kind: str = "application/json",
    length: int | None = None,
    **headers: str,
) -> bytes:
    """Return the bytes of a whole answer; `length` is what it claims, -1 to claim none."""
    if isinstance(body, dict):
        body = json.dumps(body).encode()
    lines = [f"HTTP/1.1 {status} Told", f"Content-Type: {kind}"]
    if length != -1:
        lines.append(f"Content-Length: {len(body) if length is None else length}")
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return "\r\n".join([*lines, "", ""]).encode() + body


class Server:
    """Gives its answers in turn, the last one for ever; remembers what it was asked."""

    def __init__(self, *answers: Answer) -> None:
        self.answers = list(answers)
        self.requests: list[str] = []
        self.stopped = threading.Event()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.settimeout(0.05)
        self.port: int = self._listener.getsockname()[1]
        self._thread = threading.Thread(target=self._serve)
        self._thread.start()

    def close(self) -> None:
        self.stopped.set()
        self._thread.join(5)
        self._listener.close()

    def _serve(self) -> None:
        while not self.stopped.is_set():
            with contextlib.suppress(OSError):
                client, _ = self._listener.accept()
                with client:
                    client.settimeout(2)
                    self._answer(client)

    def _answer(self, client: socket.socket) -> None:
        asked = b""
        while b"\r\n\r\n" not in asked:
            piece = client.recv(65_536)
            if not piece:
                return
            asked += piece
        self.requests.append(asked.decode())
        told = self.answers[min(len(self.requests), len(self.answers)) - 1]
        if callable(told):
            told(client)
        else:
            client.sendall(told)


@contextlib.contextmanager
def serving(*answers: Answer) -> Iterator[Server]:
    server = Server(*answers)
    try:
        yield server
    finally:
        server.close()


def dripping(data: bytes, *, every_s: float) -> Callable[[socket.socket], None]:
    """Return an answer that comes a byte at a time, never late enough for one read's patience."""

    def drip(client: socket.socket) -> None:
        pause = threading.Event()
        for index in range(len(data)):
            client.sendall(data[index : index + 1])
            pause.wait(every_s)

    return drip


def silent(client: socket.socket) -> None:
    """Say nothing until the other side has enough."""
    client.recv(1)


def hanging_up(data: bytes) -> Callable[[socket.socket], None]:
    """Return an answer that ends in the middle."""
    return lambda client: client.sendall(data)
