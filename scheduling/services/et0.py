"""The ET0 of stored days: once for a station and day, by the best method its values allow."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.et0_methods import Et0Method
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.models import WeatherDay


def compute_et0(days: Sequence[WeatherDay]) -> None:
    """Fill in the ET0 of days with both temperatures; the rows are changed, not saved."""
    complete = [day for day in days if day.tmin_c is not None and day.tmax_c is not None]
    radiation = extraterrestrial_radiation(
        _column([day.station.latitude for day in complete]),
        _column([day.date.timetuple().tm_yday for day in complete]),
    )
    tmin_c, tmax_c = (_column([getattr(day, n) for day in complete]) for n in ("tmin_c", "tmax_c"))
    et0_mm = np.asarray(hargreaves(tmin_c, tmax_c, radiation))
    for day, value in zip(complete, et0_mm, strict=True):
        day.et0_mm, day.et0_method = round(float(value), 4), Et0Method.HARGREAVES.value


def _column(values: list[Any]) -> NDArray[np.float64]:
    return np.array(values, dtype=np.float64)
