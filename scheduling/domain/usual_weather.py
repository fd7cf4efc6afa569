"""Days without weather: the usual ET0 stands in, no rain is taken, and both are marked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.climate import Climate
from scheduling.domain.daily_climate import DailyClimate, slot_of_day
from scheduling.domain.water_columns import Array

_Dates = NDArray[np.datetime64]
_Truths = NDArray[np.bool_]


@dataclass(frozen=True)
class WholeDays:
    """Days in a row with their ET0 and rain, none of them missing [mm].

    Where `et0_is_usual` nobody has the ET0 and the usual one stands in; where `rain_is_unknown`
    nobody has the rain, and it is taken not to have rained.
    """

    dates: _Dates
    et0_mm: Array
    rain_mm: Array
    et0_is_usual: _Truths
    rain_is_unknown: _Truths

    @property
    def is_usual(self) -> _Truths:
        """On which days either stood in."""
        return self.et0_is_usual | self.rain_is_unknown


def whole_days(
    dates: _Dates, et0_mm: Array, rain_mm: Array, usual_et0_mm: Callable[[_Dates], Array]
) -> WholeDays:
    """Return the days with their gaps filled and marked.

    Parameters
    ----------
    dates : the days.
    et0_mm, rain_mm : of each [mm], NaN where nobody knows.
    usual_et0_mm : gives the usual ET0 of days [mm]; asked only where one is missing.
    """
    gaps, no_rain = np.isnan(et0_mm), np.isnan(rain_mm)
    filled = et0_mm.copy()
    if gaps.any():
        filled[gaps] = usual_et0_mm(dates[gaps])
    return WholeDays(dates, filled, np.where(no_rain, 0.0, rain_mm), gaps, no_rain)


def usual_et0_mm(dates: _Dates, by_day: DailyClimate, by_month: Callable[[], Climate]) -> Array:
    """Return the usual ET0 of days [mm]: that of the day, or of its month where a day has none.

    Parameters
    ----------
    dates : the days.
    by_day, by_month : the usual year of the station; the months are asked for only when needed.
    """
    usual: Array = by_day.et0.mean[slot_of_day(dates)]
    if not np.isnan(usual).any():
        return usual
    months = dates.astype("datetime64[M]").astype(np.int64) % 12
    return np.where(np.isnan(usual), np.array(by_month().et0_mm_day)[months], usual)
