from __future__ import annotations

import dataclasses
import email.utils
import gzip
import json
import socket
import time
import tracemalloc

import pytest

from scheduling.models import ForecastStyle
from scheduling.services.forecast_http import FetchFailedError, fetch_document
from scheduling.services.forecast_sockets import Limits, Surroundings
from scheduling.services.forecast_sources import ForecastSource
from tests.scheduling.services.forecast_server import (
    answer,
    dripping,
    hanging_up,
    serving,
    silent,
)

LIMITS = Limits(
    connect_s=0.3, read_s=0.15, total_s=0.6, body_bytes=20_000, tries=3, pause_s=0.01,
    longest_pause_s=0.2,
)  # fmt: skip


def source_at(port: int, path: str = "/forecast?key=s3cret") -> ForecastSource:
    return ForecastSource(ForecastStyle.DAILY_ARRAYS, False, "127.0.0.1", port, path)


def fetch(server, around=None, **limits) -> bytes:
    return fetch_document(
        source_at(server.port),
        limits=dataclasses.replace(LIMITS, **limits),
        agent="zone-keeping (office@meadowlark.example)",
        around=around,
    )


def failure_of(*answers, around=None, **limits) -> tuple[FetchFailedError, int]:
    """Return how a fetch fails and how often it was tried."""
    with serving(*answers) as server:
        with pytest.raises(FetchFailedError) as failure:
            fetch(server, around, **limits)
        assert "s3cret" not in str(failure.value)
        return failure.value, len(server.requests)


def test_a_plain_answer_is_returned_and_asked_for_politely():
    with serving(answer(b'{"a": 1}')) as server:
        assert fetch(server) == b'{"a": 1}'

    (asked,) = server.requests
    assert asked.startswith("GET /forecast?key=s3cret HTTP/1.1\r\n")
    assert f"Host: 127.0.0.1:{server.port}\r\n" in asked
    assert "User-Agent: zone-keeping (office@meadowlark.example)\r\n" in asked


@pytest.mark.parametrize("kind", ["application/geo+json", "Application/JSON; charset=utf-8"])
def test_the_public_types_of_json_are_taken(kind):
    with serving(answer(b"[]", kind=kind)) as server:
        assert fetch(server) == b"[]"


def test_a_packed_answer_is_unpacked():
    body = json.dumps(list(range(2000))).encode()
    with serving(answer(gzip.compress(body), Content_Encoding="gzip")) as server:
        assert fetch(server) == body


def test_a_chunked_answer_is_put_together():
    chunked = answer(b"3\r\n[1,\r\n2\r\n2]\r\n0\r\n\r\n", length=-1, Transfer_Encoding="chunked")
    with serving(chunked) as server:
        assert fetch(server) == b"[1,2]"


def test_a_proxy_of_the_environment_is_not_asked(monkeypatch):
    monkeypatch.setenv("http_proxy", "http://127.0.0.1:9")
    with serving(answer(b"[]")) as server:
        assert fetch(server) == b"[]"


def test_a_silent_source_is_given_up_in_time():
    began = time.monotonic()
    failure, tries = failure_of(silent)

    assert failure.code == "forecast-timeout"
    assert tries == 3
    assert time.monotonic() - began < 1.5


@pytest.mark.parametrize("whole", [
    b"HTTP/1.1 200 OK\r\nContent-Type: application/json\r\n" + b"X-A: b\r\n" * 500,
    answer(b"[" + b"1," * 500, length=5000),
], ids=["head", "body"])  # fmt: skip
def test_a_source_that_drips_is_given_up_at_the_deadline(whole):
    began = time.monotonic()
    failure, tries = failure_of(dripping(whole, every_s=0.02), total_s=0.4)

    assert failure.code == "forecast-timeout"
    assert tries == 1
    assert 0.3 < time.monotonic() - began < 1.2


@pytest.mark.parametrize("told", [
    hanging_up(b""), hanging_up(b"HTT"), hanging_up(b"SSH-2.0-x\r\n"),
    answer(b'{"a": 1}', length=5000),
    answer(b"5\r\n[1,", length=-1, Transfer_Encoding="chunked"),
    answer(gzip.compress(b"[1]" * 50)[:20], Content_Encoding="gzip"),
    answer(b"no gzip", Content_Encoding="gzip"),
], ids=["nothing", "half line", "no HTTP", "length", "chunks", "half gzip", "no gzip"])  # fmt: skip
def test_an_answer_that_breaks_off_is_tried_again_and_named(told):
    failure, tries = failure_of(told)

    assert failure.code == "forecast-broken-off"
    assert tries == 3


def test_a_length_that_is_too_short_cuts_the_answer_there():
    with serving(answer(b'{"a": 1}', length=4)) as server:
        assert fetch(server) == b'{"a"'


def test_after_two_errors_a_good_answer_counts():
    with serving(answer(status=500), hanging_up(b""), answer(b"[1]")) as server:
        assert fetch(server) == b"[1]"
    assert len(server.requests) == 3


@pytest.mark.parametrize(
    ("status", "code", "tries"),
    [
        (500, "forecast-http-status", 3), (503, "forecast-http-status", 3),
        (429, "forecast-busy", 3), (404, "forecast-http-status", 1),
        (403, "forecast-http-status", 1), (204, "forecast-http-status", 1),
    ],
)  # fmt: skip
def test_only_what_may_pass_is_tried_again(status, code, tries):
    failure, tried = failure_of(answer(status=status))

    assert (failure.code, tried) == (code, tries)


@pytest.mark.parametrize("place", ["file:///etc/passwd", "https://elsewhere.example/", "/other"])
@pytest.mark.parametrize("status", [301, 302, 307])
def test_no_redirect_is_followed(place, status):
    failure, tries = failure_of(answer(status=status, Location=place))

    assert (failure.code, tries) == ("forecast-redirect", 1)


class Patient:
    """Surroundings whose time passes by sleeping alone."""

    def __init__(self) -> None:
        self.now, self.slept = 0.0, []
        self.around = Surroundings(lambda: self.now, self.sleep, lambda: 0.5, lambda: 1_000_000.0)

    def sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        self.now += seconds


def test_the_pauses_grow_and_vary():
    patient = Patient()
    failure_of(answer(status=503), around=patient.around)
    assert patient.slept == [pytest.approx(0.01), pytest.approx(0.02)]

    patient.slept.clear()
    lucky = dataclasses.replace(patient.around, chance=lambda: 0.0)
    failure_of(answer(status=503), around=lucky)
    assert patient.slept == [pytest.approx(0.005), pytest.approx(0.01)]


@pytest.mark.parametrize(
    "stated", ["7", email.utils.formatdate(1_000_007.0, usegmt=True)], ids=["seconds", "date"]
)
def test_a_busy_source_is_left_alone_as_long_as_it_asks(stated):
    patient = Patient()
    with serving(answer(status=429, Retry_After=stated), answer(b"[]")) as server:
        fetch(server, patient.around, longest_pause_s=10.0, total_s=30.0)

    assert patient.slept == [pytest.approx(7.0)]


@pytest.mark.parametrize("stated", ["", "soon", "-5", "1e9", "Thu, 99 Foo", "٣"])
def test_a_wait_that_cannot_be_read_counts_as_none(stated):
    patient = Patient()
    with serving(
        answer(status=429).replace(b"\r\n\r\n", f"\r\nRetry-After: {stated}\r\n\r\n".encode()),
        answer(b"[]"),
    ) as server:
        fetch(server, patient.around)

    assert patient.slept == [pytest.approx(0.01)]


@pytest.mark.parametrize(("wait", "total_s"), [("60", 100.0), ("0.2", 0.6), ("9" * 400, 100.0)])
def test_a_wait_beyond_the_cap_ends_the_fetch_at_once(wait, total_s):
    patient = Patient()
    failure, tries = failure_of(
        answer(status=429, Retry_After=wait), around=patient.around, total_s=total_s, tries=2,
    )  # fmt: skip

    assert failure.code == "forecast-busy"
    assert tries == (2 if wait == "0.2" else 1)


def test_a_pause_that_would_pass_the_deadline_is_not_begun():
    patient = Patient()
    failure, tries = failure_of(
        answer(status=429, Retry_After="3"), around=patient.around, longest_pause_s=5.0, total_s=2.0
    )

    assert (failure.code, tries, patient.slept) == ("forecast-busy", 1, [])


@pytest.mark.parametrize("kind", ["text/html", "text/html; x=application/json", "", "image/png"])
def test_anything_but_json_is_refused_by_its_type(kind):
    failure, tries = failure_of(answer(b"<html>", kind=kind))

    assert (failure.code, tries) == ("forecast-content-type", 1)


def pouring(client: socket.socket) -> None:
    """Pour 50 MB without saying so."""
    client.sendall(answer(b"[", length=-1))
    for _ in range(800):
        client.sendall(b"1," * 32_768)


@pytest.mark.parametrize("told", [
    answer(b"", length=50_000_000), pouring,
    answer(gzip.compress(b"0" * 50_000_000, 9), length=-1, Content_Encoding="gzip"),
], ids=["claimed", "poured", "bomb"])  # fmt: skip
def test_too_much_is_refused_without_taking_it(told):
    failure, tries = failure_of(told, total_s=5.0)

    assert (failure.code, tries) == ("forecast-too-large", 1)


def test_a_bomb_is_never_whole_in_memory():
    bomb = answer(gzip.compress(b"0" * 50_000_000, 9), length=-1, Content_Encoding="gzip")
    tracemalloc.start()
    try:
        failure_of(bomb, total_s=5.0)
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()

    assert peak < 3_000_000


def test_the_limit_itself_is_allowed_packed_and_plain():
    body = b"1" * 20_000
    with serving(answer(body), answer(gzip.compress(body), Content_Encoding="gzip")) as server:
        assert fetch(server) == fetch(server) == body


def test_another_packing_is_refused():
    failure, _ = failure_of(answer(b"x", Content_Encoding="br"))

    assert failure.code == "forecast-packing"


def test_nobody_at_home_is_named():
    with serving() as server:
        port = server.port
    with pytest.raises(FetchFailedError) as failure:
        fetch_document(source_at(port), limits=LIMITS, agent="x")

    assert failure.value.code == "forecast-unreachable"


def test_a_name_that_no_host_can_have_is_unreachable():
    source = dataclasses.replace(source_at(443), host="a" * 70 + ".example")
    with pytest.raises(FetchFailedError) as failure:
        fetch_document(source, limits=dataclasses.replace(LIMITS, tries=1), agent="x")

    assert failure.value.code == "forecast-unreachable"


def test_a_source_without_a_certificate_is_no_tls_source():
    with serving(answer(b"[]")) as server:
        source = dataclasses.replace(source_at(server.port), is_tls=True)
        with pytest.raises(FetchFailedError) as failure:
            fetch_document(source, limits=dataclasses.replace(LIMITS, tries=1), agent="x")

    assert failure.value.code in ("forecast-broken-off", "forecast-timeout")
