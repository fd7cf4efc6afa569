"""Where observed days come from: the operator's own addresses, see `source_addresses`.

An address may hold {station}, {latitude}, {longitude}, {time_zone}, and the days that are asked
for: {first}, {last} (2026-06-09) and {days}, how many they are. A source whose style is an ordered
day table names its `units` too.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any, Final, cast, get_args

from django.conf import settings

from scheduling.domain.station_values import Layout, Units
from scheduling.models import ObservationStyle, WeatherStation
from scheduling.services.source_addresses import Address, SourceSetting, of_station

SETTING: Final = SourceSetting("OBSERVATION_SOURCES", "observation")


@dataclass(frozen=True)
class Span:
    """The days that are asked for, both included."""

    first: dt.date
    last: dt.date

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


@dataclass(frozen=True)
class ObservationSource:
    """Of what shape a source's documents are, and its address without the days."""

    style: ObservationStyle
    units: Units | None
    setting: dict[str, Any]

    @property
    def is_analysis(self) -> bool:
        return self.style is ObservationStyle.DAILY_ARRAYS

    @property
    def layout(self) -> Layout:
        return Layout(self.style.value)

    def address(self, station: WeatherStation, span: Span, *, time_zone: str) -> Address:
        """Return the address of the document with these days."""
        asked = {
            "first": span.first.isoformat(),
            "last": span.last.isoformat(),
            "days": str(span.days),
        }
        return SETTING.address(self.setting, of_station(station, time_zone) | asked)


def is_configured() -> bool:
    """Tell whether any source is set; without one the feature is off."""
    return bool(settings.OBSERVATION_SOURCES)


def source_of(station: WeatherStation) -> ObservationSource:
    """Return the source that serves a station.

    Raises
    ------
    RefusedError
        Code "no-observation-source", or "observation-misconfigured" for a setting that cannot be
        right.
    """
    source = SETTING.source_for(station.code)
    if source is None:
        raise SETTING.missing(station.code)
    if source.get("style") not in ObservationStyle.values:
        raise SETTING.misconfigured(f"style is one of {', '.join(ObservationStyle.values)}")
    style, units = ObservationStyle(source["style"]), source.get("units")
    known = get_args(Units) if style is ObservationStyle.DAILY_SUMMARIES else (None,)
    if units not in known:
        words = " or ".join(get_args(Units))
        raise SETTING.misconfigured(f"units ({words}) are for {Layout.DAILY_SUMMARIES} alone")
    return ObservationSource(style, cast("Units | None", units), source)
