"""Where forecasts come from: the operator's own addresses, out of the settings and nowhere else.

Each source is a mapping with `style`, `address` (a template that may hold {latitude}, {longitude},
{time_zone} and {station}) and, where it speaks for some stations alone, `stations` (their codes).
The first that fits serves a station. An address may hold a key, so no message ever shows one.
Private addresses are not refused: whoever sets an address already runs this machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote, urlsplit

from django.conf import settings

from properties.domain.errors import RefusedError
from scheduling.models import ForecastStyle, WeatherStation

_LOOPBACK: Final = ("127.0.0.1", "localhost", "::1")
_PRINTABLE: Final = range(0x21, 0x7F)


@dataclass(frozen=True)
class ForecastSource:
    """One document's address, ready to be asked, and its shape."""

    style: ForecastStyle
    is_tls: bool
    host: str
    port: int | None
    path: str


def is_configured() -> bool:
    """Tell whether any source is set; without one the feature is off."""
    return bool(settings.FORECAST_SOURCES)


def source_of(station: WeatherStation, *, time_zone: str) -> ForecastSource:
    """Return the source that serves a station.

    Raises
    ------
    RefusedError
        Code "no-forecast-source", or "forecast-misconfigured" for a setting that cannot be right.
    """
    for setting in settings.FORECAST_SOURCES:
        if not isinstance(setting, dict):
            raise _misconfigured("each source is an object")
        codes = setting.get("stations", [station.code])
        if not isinstance(codes, list):
            raise _misconfigured("stations is a list of codes")
        if station.code in codes:
            return _source(setting, station, time_zone)
    raise RefusedError(
        f"No forecast source is set for the station {station.code}.",
        code="no-forecast-source", remedy="Name one in the setting FORECAST_SOURCES.",
    )  # fmt: skip


def _source(setting: dict[str, Any], station: WeatherStation, time_zone: str) -> ForecastSource:
    if setting.get("style") not in ForecastStyle.values:
        raise _misconfigured(f"style is one of {', '.join(ForecastStyle.values)}")
    address = _filled_in(str(setting.get("address", "")), station, time_zone)
    try:
        parts = urlsplit(address)
        host, port = parts.hostname, parts.port
    except ValueError as error:
        raise _misconfigured("the address is no URL") from error
    if not host or parts.username is not None or any(ord(c) not in _PRINTABLE for c in address):
        raise _misconfigured("the address has a host, no user name and plain characters only")
    _check_scheme(parts.scheme, host)
    path = f"{parts.path or '/'}{'?' if parts.query else ''}{parts.query}"
    return ForecastSource(
        ForecastStyle(setting["style"]), parts.scheme == "https", host, port, path
    )


def _filled_in(template: str, station: WeatherStation, time_zone: str) -> str:
    """Put the place into the address by plain replacement: a template can reach nothing else."""
    values = {
        "{latitude}": f"{station.latitude:.4f}",
        "{longitude}": f"{station.longitude:.4f}",
        "{time_zone}": quote(time_zone, safe=""),
        "{station}": quote(station.code, safe=""),
    }
    for name, value in values.items():
        template = template.replace(name, value)
    return template


def _check_scheme(scheme: str, host: str) -> None:
    if scheme == "https":
        return
    if scheme != "http" or host not in _LOOPBACK or not settings.FORECAST_ALLOW_LOOPBACK_HTTP:
        raise _misconfigured("the address begins with https://")


def _misconfigured(rule: str) -> RefusedError:
    return RefusedError(
        f"The setting FORECAST_SOURCES cannot be right: {rule}.",
        code="forecast-misconfigured", remedy="Correct it and start the product again.",
    )  # fmt: skip
