"""A mail server on this machine that takes every message and keeps it."""

from __future__ import annotations

import contextlib
import email
import socketserver
import threading
from collections.abc import Iterator
from email.message import Message

_OK = b"250 OK\r\n"


class MailServer(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Session)
        self.messages: list[Message] = []

    @property
    def port(self) -> int:
        return int(self.server_address[1])


class Session(socketserver.StreamRequestHandler):
    """As much of RFC 5321 as a client that sends one message needs."""

    server: MailServer

    def handle(self) -> None:
        with contextlib.suppress(ConnectionError):
            self._talk()

    def _talk(self) -> None:
        self.wfile.write(b"220 here\r\n")
        while line := self.rfile.readline():
            verb = line.split()[0].upper() if line.split() else b""
            if verb == b"DATA":
                self.wfile.write(b"354 go on\r\n")
                self.server.messages.append(email.message_from_bytes(self._data()))
            elif verb == b"QUIT":
                self.wfile.write(b"221 bye\r\n")
                return
            self.wfile.write(_OK)

    def _data(self) -> bytes:
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line.removeprefix(b".") if line.startswith(b"..") else line)
        return b"".join(lines)


@contextlib.contextmanager
def serving_mail() -> Iterator[MailServer]:
    with MailServer() as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
        thread.start()
        yield server
        server.shutdown()
        thread.join(5)
