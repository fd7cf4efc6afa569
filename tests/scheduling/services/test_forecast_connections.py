"""Reaching a source: its name, its addresses, its certificate."""

from __future__ import annotations

import dataclasses
import shutil
import socket
import ssl
import subprocess
import threading
import time

import pytest

from scheduling.models import ForecastStyle
from scheduling.services.forecast_http import FetchFailedError, fetch_document
from scheduling.services.forecast_sockets import Limits
from scheduling.services.forecast_sources import ForecastSource
from tests.scheduling.services.forecast_server import answer, serving

LIMITS = Limits(
    connect_s=1.0, read_s=1.0, total_s=2.0, body_bytes=20_000, tries=1, pause_s=0.01,
    longest_pause_s=0.2,
)  # fmt: skip
LOOK_UP = socket.getaddrinfo


def fetch(port: int, host: str = "127.0.0.1", *, is_tls: bool = False, **limits) -> bytes:
    source = ForecastSource(ForecastStyle.DAILY_ARRAYS, is_tls, host, port, "/forecast")
    return fetch_document(source, limits=dataclasses.replace(LIMITS, **limits), agent="test")


def code_of(port: int, host: str = "127.0.0.1", **options) -> str:
    with pytest.raises(FetchFailedError) as failure:
        fetch(port, host, **options)
    return failure.value.code


def test_a_look_up_that_never_ends_is_given_up(monkeypatch):
    for_ever = threading.Event()
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: for_ever.wait(30))
    began = time.monotonic()

    assert code_of(80, "slow.example", connect_s=0.2) == "forecast-timeout"

    for_ever.set()
    assert time.monotonic() - began < 10


def test_a_name_that_nobody_has_is_unreachable(monkeypatch):
    def unknown(*_args, **_named):
        raise socket.gaierror(socket.EAI_NONAME, "unknown")

    monkeypatch.setattr(socket, "getaddrinfo", unknown)

    assert code_of(80, "nobody.example") == "forecast-unreachable"


def test_a_name_that_can_be_none_is_unreachable():
    assert code_of(80, "a" * 64 + ".example") == "forecast-unreachable"


def test_where_one_address_refuses_the_next_is_tried(monkeypatch):
    with socket.create_server(("127.0.0.1", 0)) as closed:
        refusing = closed.getsockname()[1]
    with serving(answer(b"[1]")) as server:
        both = [*LOOK_UP("127.0.0.1", refusing), *LOOK_UP("127.0.0.1", server.port)]
        addresses = [each for each in both if each[1] == socket.SOCK_STREAM]
        monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: addresses)

        assert fetch(server.port, "two.example") == b"[1]"

    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: addresses[:1])
    assert code_of(refusing, "one.example") == "forecast-unreachable"


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    """A certificate for the name localhost, signed by itself, and its key."""
    if shutil.which("openssl") is None:
        pytest.skip("no openssl to make a certificate with")
    folder = tmp_path_factory.mktemp("certificate")
    made, key = folder / "certificate.pem", folder / "key.pem"
    command = [
        "openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
        "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost",
        "-out", made, "-keyout", key,
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True)
    return made, key


@pytest.fixture
def secure_port(certificate):
    """A server on this machine that shows the certificate and answers `[1, 2]` to each who asks."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(*certificate)
    ended = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(0.05)
        thread = threading.Thread(target=serve_securely, args=(listener, context, ended))
        thread.start()
        yield listener.getsockname()[1]
        ended.set()
        thread.join(5)


def serve_securely(listener, context, ended):
    while not ended.is_set():
        try:
            client, _ = listener.accept()
            client.settimeout(2)
            with context.wrap_socket(client, server_side=True) as secured:
                secured.recv(65_536)
                secured.sendall(answer(b"[1, 2]"))
        except OSError:  # nobody asked, or who asked did not like the certificate
            continue


def test_a_source_whose_certificate_is_trusted_is_read(secure_port, certificate, monkeypatch):
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate[0]))

    assert fetch(secure_port, "localhost", is_tls=True) == b"[1, 2]"


def test_a_certificate_for_another_name_is_refused(secure_port, certificate, monkeypatch):
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate[0]))

    assert code_of(secure_port, "127.0.0.1", is_tls=True) == "forecast-certificate"


def test_a_certificate_that_nobody_trusts_is_refused(secure_port):
    assert code_of(secure_port, "localhost", is_tls=True) == "forecast-certificate"
