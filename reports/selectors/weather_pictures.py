"""The content of the weather pictures, out of what is stored."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from properties.domain.units import System
from properties.models import Property, Zone
from reports.domain.weather_pictures import DailyDepths, StoredWater, source_line
from scheduling.domain.gap_filling import Mark
from scheduling.selectors.water_accounts import account_of_last_days
from scheduling.selectors.weather_outlook import SHOWN_DAYS, recent_weather_of


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


def stored_water_of(zone: Zone, today: date, system: System) -> StoredWater:
    """Return what the roots of a zone held over the 60 days up to yesterday.

    Where roots grow or the month changes them, the last day's capacity and limit are drawn.
    """
    found = account_of_last_days(zone, today, SHOWN_DAYS)
    account = found.water.account
    return StoredWater(
        title=f"Water held by the roots: {zone}",
        system=system,
        first_date=found.days.dates[0].item(),
        capacity_mm=float(account.capacity_mm[-1, 0]),
        limit_mm=float(found.water.limit_mm[-1]),
        stored_mm=_depths(account.stored_mm[:, 0]),
        watered_mm=_depths(account.net_mm[:, 0]),
        rain_mm=_depths(np.where(found.rain_is_unknown, np.nan, found.days.rain_mm)),
        usual=tuple(found.need_is_usual.tolist()),
        setting_since=found.setting_since,
    )


def _depths(values: NDArray[Any]) -> tuple[float | None, ...]:
    return tuple(value if math.isfinite(value) else None for value in values.tolist())
