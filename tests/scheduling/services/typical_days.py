"""Rows of a station whose days are those of a typical year."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduling.models import WeatherDay, WeatherStation
from tests import cast
from tests.scheduling.domain.typical_years import TypicalYear

FIRST = dt.date(2021, 1, 1)
FULL = ("tmin_c", "tmax_c", "dew_point_c", "wind_m_s", "solar_mj_m2")
TEMPERATURES = ("tmin_c", "tmax_c")


def make_station_of(year: TypicalYear, **changes: Any) -> WeatherStation:
    place = {"latitude": year.latitude_deg, "elevation_m": year.elevation_m}
    return cast.make_station(**place, **changes)


def rows_of(
    station: WeatherStation,
    year: TypicalYear,
    *,
    names: tuple[str, ...] = FULL,
    first_year: int = 2021,
    years: int = 1,
) -> list[WeatherDay]:
    """Unsaved days of the typical year, again for each of the years; none has a 29 February."""
    return [
        WeatherDay(
            station=station,
            date=(FIRST + dt.timedelta(days=day)).replace(year=first_year + again),
            **{name: float(getattr(year, name)[day]) for name in names},
        )
        for again in range(years)
        for day in range(365)
    ]
