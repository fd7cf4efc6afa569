"""Where forecasts come from: the operator's own addresses, see `source_addresses`.

An address may hold {latitude}, {longitude}, {time_zone} and {station}.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.conf import settings

from scheduling.models import ForecastStyle, WeatherStation
from scheduling.services.source_addresses import SourceSetting, of_station

SETTING: Final = SourceSetting("FORECAST_SOURCES", "forecast")


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
    source = SETTING.source_for(station.code)
    if source is None:
        raise SETTING.missing(station.code)
    if source.get("style") not in ForecastStyle.values:
        raise SETTING.misconfigured(f"style is one of {', '.join(ForecastStyle.values)}")
    at = SETTING.address(source, of_station(station, time_zone))
    return ForecastSource(ForecastStyle(source["style"]), at.is_tls, at.host, at.port, at.path)
