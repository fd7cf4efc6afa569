"""The content of the weather pictures, out of what is stored."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from numpy.typing import NDArray

from properties.domain.units import System
from properties.models import Property
from reports.domain.weather_pictures import DailyDepths, source_line
from scheduling.domain.gap_filling import Mark
from scheduling.selectors.weather_outlook import recent_weather_of


def rain_and_et0_of(property_: Property, today: date, system: System) -> DailyDepths:
    """Return rain and ET0 of the 60 days up to yesterday."""
    weather = recent_weather_of(property_, today)
    rain, et0 = weather.series["rain_mm"], weather.series["et0_mm"]
    gaps = weather.gaps
    return DailyDepths(
        title=f"Rain and ET0: {property_.name}",
        source=source_line(
            weather.main.station.name,
            weather.main.rank.distance_km,
            filled=gaps.days_filled,
            unknown=gaps.days_missing,
            system=system,
        ),
        system=system,
        first_date=gaps.first_date,
        et0_mm=_depths(et0.values),
        rain_mm=_depths(rain.values),
        filled=tuple(((rain.marks == Mark.FILLED) | (et0.marks == Mark.FILLED)).tolist()),
    )


def _depths(values: NDArray[Any]) -> tuple[float | None, ...]:
    return tuple(value if math.isfinite(value) else None for value in values.tolist())
