"""Days of weather in a row: those that were, then those that are forecast."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError

# Common practice: a week is what a forecast is worth. What lies beyond is shown, not told.
FORECAST_DAYS: Final = 7

_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class DailyWeather:
    """Days in a row, the observed before the forecast ones; NaN where a value is unknown.

    `is_forecast` tells days to come from those that were.
    """

    dates: NDArray[np.datetime64]
    tmin_c: _Floats
    tmax_c: _Floats
    rain_mm: _Floats
    et0_mm: _Floats
    is_forecast: NDArray[np.bool_]

    def __post_init__(self) -> None:
        for field in ("tmin_c", "tmax_c", "rain_mm", "et0_mm", "is_forecast"):
            if getattr(self, field).shape != self.dates.shape:
                raise InvalidInputError(
                    f"{field} has {getattr(self, field).size} values for {self.dates.size} days.",
                    field=field, code="length", remedy="Give one value a day.",
                )  # fmt: skip
        if (np.diff(self.dates).astype(np.int64) != 1).any():
            raise InvalidInputError(
                "The days do not follow one another.",
                field="dates", code="dates", remedy="Give every day once, in order.",
            )  # fmt: skip
        if (np.diff(self.is_forecast.astype(np.int8)) < 0).any():
            raise InvalidInputError(
                "A forecast day stands before an observed one.",
                field="is_forecast", code="dates", remedy="Give the observed days first.",
            )  # fmt: skip

    @property
    def last_observed(self) -> int:
        """The place of the last observed day; -1 when all are forecast."""
        return int((~self.is_forecast).sum()) - 1

    @property
    def is_near(self) -> NDArray[np.bool_]:
        """Whether a day was observed, or is one of those that a forecast is worth."""
        return np.arange(self.dates.size) <= self.last_observed + FORECAST_DAYS

    def day(self, index: int) -> dt.date:
        return dt.date.fromisoformat(str(self.dates[index]))
