"""The ET0 of forecast days, by the same computation as that of observed ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.et0_methods import StationDays, best_et0
from scheduling.models import ForecastDay, StationCalibration, WeatherStation
from scheduling.services.et0 import ET0_DECIMALS, NO_LINE, sun_coefficient_of

# Both shapes of forecast give the wind at the height of the meteorologists, 10 m, wherever the
# station's own anemometer stands (the providers' documentation, from memory).
FORECAST_WIND_HEIGHT_M: Final = 10.0


def forecast_et0(station: WeatherStation, days: Sequence[ForecastDay]) -> list[float | None]:
    """Return the ET0 of each day by the best method its values allow [mm], None without any."""
    if not days:
        return []
    slope, offset_mm = _line_of(station)
    et0_mm, _ = best_et0(
        StationDays(
            latitude_deg=_constant(station.latitude, days),
            elevation_m=_constant(station.elevation_m, days),
            anemometer_height_m=_constant(FORECAST_WIND_HEIGHT_M, days),
            day_of_year=np.array([day.date.timetuple().tm_yday for day in days], dtype=np.float64),
            sun_coefficient=_constant(sun_coefficient_of(station), days),
            slope=_constant(slope, days),
            offset_mm=_constant(offset_mm, days),
            tmin_c=_column("tmin_c", days),
            tmax_c=_column("tmax_c", days),
            humidity_percent=_column("humidity_percent", days),
            wind_m_s=_column("wind_m_s", days),
            solar_mj_m2=_column("solar_mj_m2", days),
        )
    )
    rounded = np.round(et0_mm, ET0_DECIMALS).tolist()
    return [None if math.isnan(value) else value for value in rounded]


def _line_of(station: WeatherStation) -> tuple[float, float]:
    rows = StationCalibration.objects.filter(station=station)
    return rows.values_list("slope", "offset_mm").first() or NO_LINE


def _constant(value: float, days: Sequence[ForecastDay]) -> NDArray[np.float64]:
    return np.full(len(days), value)


def _column(name: str, days: Sequence[ForecastDay]) -> NDArray[np.float64]:
    return np.array([getattr(day, name) for day in days], dtype=np.float64)  # None becomes NaN
