"""Addresses of weather sources: the operator's own, out of the settings and nowhere else.

Each source is a mapping with a `style`, an `address` (a template) and, where it speaks for some
stations alone, `stations` (their codes). The first that fits serves a station. An address may hold
a key, so no message ever shows one. Private addresses are not refused: whoever sets an address
already runs this machine.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Protocol
from urllib.parse import quote, urlsplit

from django.conf import settings

from properties.domain.errors import RefusedError
from scheduling.models import WeatherStation

_LOOPBACK: Final = ("127.0.0.1", "localhost", "::1")
_PRINTABLE: Final = range(0x21, 0x7F)


class Address(Protocol):
    """Where one document is, ready to be asked for."""

    @property
    def is_tls(self) -> bool: ...
    @property
    def host(self) -> str: ...
    @property
    def port(self) -> int | None: ...
    @property
    def path(self) -> str: ...


@dataclass(frozen=True)
class SourceSetting:
    """A setting that lists sources: its name, and what its refusals are about."""

    name: str
    topic: str

    def source_for(self, code: str) -> dict[str, Any] | None:
        """Return the first source that serves a station, None without one.

        Raises
        ------
        RefusedError
            Code "<topic>-misconfigured" for a setting that cannot be right.
        """
        for source in getattr(settings, self.name):
            if not isinstance(source, dict):
                raise self.misconfigured("each source is an object")
            codes = source.get("stations", [code])
            if not isinstance(codes, list):
                raise self.misconfigured("stations is a list of codes")
            if code in codes:
                return source
        return None

    def address(self, source: Mapping[str, Any], values: Mapping[str, str]) -> Address:
        """Return a source's address with values put in by plain replacement: it reaches no more."""
        template = str(source.get("address", ""))
        for name, value in values.items():
            template = template.replace(f"{{{name}}}", quote(value, safe=""))
        try:
            parts = urlsplit(template)
            host, port = parts.hostname, parts.port
        except ValueError as error:
            raise self.misconfigured("the address is no URL") from error
        is_plain = all(ord(char) in _PRINTABLE for char in template)
        if not host or parts.username is not None or not is_plain:
            rule = "the address has a host, no user name and plain characters only"
            raise self.misconfigured(rule)
        self._check_scheme(parts.scheme, host)
        path = f"{parts.path or '/'}{'?' if parts.query else ''}{parts.query}"
        return _Place(parts.scheme == "https", host, port, path)

    def missing(self, code: str) -> RefusedError:
        """Return the refusal of a station that no source serves."""
        return RefusedError(
            f"No {self.topic} source is set for the station {code}.",
            code=f"no-{self.topic}-source", remedy=f"Name one in the setting {self.name}.",
        )  # fmt: skip

    def misconfigured(self, rule: str) -> RefusedError:
        """Return the refusal of a setting that breaks a rule."""
        return RefusedError(
            f"The setting {self.name} cannot be right: {rule}.",
            code=f"{self.topic}-misconfigured",
            remedy="Correct it and start the product again.",
        )

    def _check_scheme(self, scheme: str, host: str) -> None:
        if scheme == "https":
            return
        if scheme != "http" or host not in _LOOPBACK or not settings.FORECAST_ALLOW_LOOPBACK_HTTP:
            raise self.misconfigured("the address begins with https://")


@dataclass(frozen=True)
class _Place:
    is_tls: bool
    host: str
    port: int | None
    path: str


def of_station(station: WeatherStation, time_zone: str) -> dict[str, str]:
    """Return what every address may hold of a station."""
    return {
        "latitude": f"{station.latitude:.4f}",
        "longitude": f"{station.longitude:.4f}",
        "time_zone": time_zone,
        "station": station.code,
    }
