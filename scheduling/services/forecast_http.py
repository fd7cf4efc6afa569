"""Fetching one document over HTTP(S), by a stranger who may be slow, wrong or hostile.

1. One total deadline holds for everything: looking up the name, connecting, each byte of head and
   body, pauses between tries.
2. No redirect is followed, no proxy asked, and certificates are checked.
3. The body is read in pieces and may pass the limit neither as it comes nor unpacked.
4. Only what may be over in a moment is tried again: 429, 5xx, timeouts, broken connections.
"""

from __future__ import annotations

import datetime as dt
import email.utils
import http.client
import socket
import ssl
import zlib
from dataclasses import dataclass
from typing import Any, Final, cast

from properties.domain.errors import RefusedError
from scheduling.services.forecast_sockets import (
    BoundedSocket,
    Deadline,
    Limits,
    Surroundings,
    connected,
)
from scheduling.services.source_addresses import Address

PIECE_BYTES: Final = 65_536
PASSING_STATUSES: Final = frozenset({429, 500, 502, 503, 504})

_GZIP_WINDOW: Final = 31


@dataclass(frozen=True)
class Wanted:
    """Which types of content are taken, which are asked for, and what a reader calls them."""

    types: tuple[str, ...]
    accept: str
    words: str


JSON: Final = Wanted(
    ("application/json", "application/geo+json", "application/ld+json"),
    "application/geo+json, application/json",
    "JSON",
)


class FetchFailedError(RefusedError):
    """The document could not be had; `wait_s` is how long the source asked us to wait."""

    def __init__(
        self, detail: str, *, code: str, remedy: str, passing: bool = False, wait_s: float = 0.0
    ) -> None:
        super().__init__(detail, code=code, remedy=remedy)
        self.is_passing = passing
        self.wait_s = wait_s


@dataclass(frozen=True)
class Asking:
    """How one asks: within which limits, under which name, for what."""

    limits: Limits
    agent: str
    wanted: Wanted


def fetch_document(
    source: Address,
    *,
    limits: Limits,
    agent: str,
    wanted: Wanted = JSON,
    around: Surroundings | None = None,
) -> bytes:
    """Return the body of a source's document.

    Raises
    ------
    FetchFailedError
        With a code for each way in which it can go wrong; no address stands in it.
    """
    around = around or Surroundings()
    deadline = Deadline(limits, around.clock)
    for tried in range(1, limits.tries + 1):
        try:
            return _once(source, Asking(limits, agent, wanted), deadline, around)
        except FetchFailedError as failure:
            pause_s = _pause_s(failure, tried, limits, around)
            last = tried == limits.tries or pause_s > limits.longest_pause_s
            if not failure.is_passing or last or not deadline.allows(pause_s):
                raise
            around.sleep(pause_s)
    raise AssertionError("at least one try")


def _pause_s(failure: FetchFailedError, tried: int, limits: Limits, around: Surroundings) -> float:
    """Double from try to try, by half more or less at random; never sooner than was asked for."""
    growing = limits.pause_s * 2.0 ** (tried - 1)
    return max(growing * (0.5 + around.chance()), failure.wait_s)


def _once(source: Address, asking: Asking, deadline: Deadline, around: Surroundings) -> bytes:
    sock: socket.socket | None = None
    limits = asking.limits
    try:
        sock = _connected(source, limits, deadline)
        response = _answer(source, BoundedSocket(sock, limits, deadline), asking)
        _check_head(response, asking, around)
        return _body(response, limits)
    except TimeoutError as error:
        raise _timed_out() from error
    except ssl.SSLCertVerificationError as error:
        raise FetchFailedError(
            "The source's certificate is not valid.",
            code="forecast-certificate", remedy="Check the address; ask the source's operator.",
        ) from error  # fmt: skip
    except (OSError, http.client.HTTPException, zlib.error) as error:
        raise _broken_off(error) from error
    finally:
        if sock is not None:
            sock.close()


def _connected(source: Address, limits: Limits, deadline: Deadline) -> socket.socket:
    port = source.port or (443 if source.is_tls else 80)
    try:
        sock = connected(source.host, port, limits, deadline)
    except TimeoutError:
        raise
    except (OSError, UnicodeError) as error:  # the latter for a name that no host can have
        raise FetchFailedError(
            f"The source cannot be reached ({type(error).__name__}).",
            code="forecast-unreachable", passing=True,
            remedy="Check this machine's connection and the source's address.",
        ) from error  # fmt: skip
    if not source.is_tls:
        return sock
    try:
        sock.settimeout(min(limits.read_s, deadline.left_s()))
        return ssl.create_default_context().wrap_socket(sock, server_hostname=source.host)
    except BaseException:
        sock.close()
        raise


def _answer(source: Address, sock: BoundedSocket, asking: Asking) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection(source.host, source.port)
    connection.default_port = 443 if source.is_tls else 80  # decides whether Host names the port
    connection.sock = cast(Any, sock)
    connection.request(
        "GET",
        source.path,
        headers={
            "Accept": asking.wanted.accept,
            "Accept-Encoding": "gzip",
            "Connection": "close",
            "User-Agent": asking.agent,
        },
    )
    return connection.getresponse()


def _check_head(response: http.client.HTTPResponse, asking: Asking, around: Surroundings) -> None:
    status = response.status
    if 300 <= status < 400:
        raise FetchFailedError(
            f"The source redirects (HTTP {status}), which is not followed.",
            code="forecast-redirect", remedy="Set the address that it redirects to.",
        )  # fmt: skip
    if status != http.client.OK:
        raise FetchFailedError(
            f"The source answered with HTTP {status}.",
            code="forecast-busy" if status == 429 else "forecast-http-status",
            remedy="Wait; should it stay so, check the address and what it allows.",
            passing=status in PASSING_STATUSES,
            wait_s=_retry_after_s(response.getheader("Retry-After"), around),
        )
    kind = response.getheader("Content-Type", "").partition(";")[0].strip().lower()
    if kind not in asking.wanted.types:
        raise FetchFailedError(
            f"The source answered with {kind[:40]!a} instead of {asking.wanted.words}.",
            code="forecast-content-type", remedy="Check the source's address.",
        )  # fmt: skip
    if response.length is not None and response.length > asking.limits.body_bytes:
        raise _too_large(asking.limits)


def _retry_after_s(stated: str | None, around: Surroundings) -> float:
    """Return the seconds that a header asks for, as a number or as a date; 0 for neither."""
    text = (stated or "").strip()
    if text.isascii() and text.isdigit():
        return float(text[:9])
    try:
        moment = email.utils.parsedate_to_datetime(text)
    except (ValueError, TypeError, IndexError, OverflowError):
        return 0.0
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=dt.UTC)
    return max(0.0, moment.timestamp() - around.wall_clock())


def _body(response: http.client.HTTPResponse, limits: Limits) -> bytes:
    packing = response.getheader("Content-Encoding", "identity").strip().lower()
    if packing not in ("identity", "gzip"):
        raise FetchFailedError(
            f"The source packs its answer as {packing[:20]!a}, which was not asked for.",
            code="forecast-packing", remedy="Ask the source for plain or gzip answers.",
        )  # fmt: skip
    body = _unpacked(response, limits) if packing == "gzip" else _plain(response, limits)
    if response.length:
        raise _broken_off(EOFError())
    return body


def _plain(response: http.client.HTTPResponse, limits: Limits) -> bytes:
    body = bytearray()
    while piece := response.read1(PIECE_BYTES):
        body += piece
        if len(body) > limits.body_bytes:
            raise _too_large(limits)
    return bytes(body)


def _unpacked(response: http.client.HTTPResponse, limits: Limits) -> bytes:
    """Unpack as it comes: of a bomb no more than the limit is ever in memory."""
    unpacker, body = zlib.decompressobj(_GZIP_WINDOW), bytearray()
    while piece := response.read1(PIECE_BYTES):
        while piece and not unpacker.eof:
            body += unpacker.decompress(piece, limits.body_bytes + 1 - len(body))
            if len(body) > limits.body_bytes:
                raise _too_large(limits)
            piece = unpacker.unconsumed_tail
    if not unpacker.eof:
        raise _broken_off(EOFError())
    return bytes(body)


def _too_large(limits: Limits) -> FetchFailedError:
    return FetchFailedError(
        f"The source's answer is larger than {limits.body_bytes} bytes.",
        code="forecast-too-large", remedy="Ask the source for fewer days or fewer quantities.",
    )  # fmt: skip


def _timed_out() -> FetchFailedError:
    return FetchFailedError(
        "The source did not answer in time.",
        code="forecast-timeout", remedy="Wait; the next fetch tries again.", passing=True,
    )  # fmt: skip


def _broken_off(error: Exception) -> FetchFailedError:
    return FetchFailedError(
        f"The source's answer broke off or is no proper HTTP ({type(error).__name__}).",
        code="forecast-broken-off", remedy="Wait; the next fetch tries again.", passing=True,
    )  # fmt: skip
