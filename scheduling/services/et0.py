"""The ET0 of stored days: once for a station and day, by the best method its values allow."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.et0_methods import StationDays, best_et0
from scheduling.domain.sunlight import COAST_COEFFICIENT, INLAND_COEFFICIENT
from scheduling.models import StationCalibration, WeatherDay, WeatherStation

MEASURED: Final = (
    "tmin_c", "tmax_c", "dew_point_c", "humidity_min_percent", "humidity_max_percent",
    "humidity_percent", "wind_m_s", "solar_mj_m2",
)  # fmt: skip
ET0_DECIMALS: Final = 4
Line = tuple[float, float]
"""Slope and offset of a calibration; NaN without one."""
NO_LINE: Final[Line] = (float("nan"), float("nan"))


def compute_et0(days: Sequence[WeatherDay]) -> None:
    """Fill in ET0 and its method, or empty both without temperatures; rows changed, not saved.

    The days come with their stations; the calibrations that they may need are read in one query.
    """
    warm = [day for day in days if day.tmin_c is not None and day.tmax_c is not None]
    set_et0(days, _lines_of({day.station_id for day in warm}) if warm else {})


def set_et0(days: Sequence[WeatherDay], lines: dict[UUID, Line]) -> None:
    """Do what `compute_et0` does, by these calibrations of the stations."""
    et0_mm, methods = best_et0(station_days(days, lines))
    rounded = np.round(et0_mm, ET0_DECIMALS)
    for day, value, method in zip(days, rounded.tolist(), methods.tolist(), strict=True):
        day.et0_mm, day.et0_method = (value, method) if method else (None, "")


def station_days(days: Sequence[WeatherDay], lines: dict[UUID, Line]) -> StationDays:
    """Return rows as columns for the computations."""
    stations = [day.station for day in days]
    slopes_and_offsets = [lines.get(station.pk, NO_LINE) for station in stations]
    return StationDays(
        latitude_deg=_column(station.latitude for station in stations),
        elevation_m=_column(station.elevation_m for station in stations),
        anemometer_height_m=_column(station.anemometer_height_m for station in stations),
        sun_coefficient=_column(sun_coefficient_of(station) for station in stations),
        day_of_year=_column(day.date.timetuple().tm_yday for day in days),
        slope=_column(slope for slope, _ in slopes_and_offsets),
        offset_mm=_column(offset_mm for _, offset_mm in slopes_and_offsets),
        **{name: _column(getattr(day, name) for day in days) for name in MEASURED},
    )


def sun_coefficient_of(station: WeatherStation) -> float:
    """Return by which coefficient a station's temperatures tell its sun [degC-0.5]."""
    return COAST_COEFFICIENT if station.is_coastal else INLAND_COEFFICIENT


def _lines_of(station_ids: set[UUID]) -> dict[UUID, Line]:
    rows = StationCalibration.objects.filter(station__in=station_ids)
    return {
        station: (slope, offset_mm)
        for station, slope, offset_mm in rows.values_list("station", "slope", "offset_mm")
    }


def _column(values: Iterable[float | None]) -> NDArray[np.float64]:
    return np.array(list(values), dtype=np.float64)  # None becomes NaN
