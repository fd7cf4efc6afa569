"""How much vapour the air of a day really held, from whatever the station measured of it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduling.domain.air import (
    COLDEST_C,
    HOTTEST_C,
    mean_saturation_vapour_pressure,
    saturation_vapour_pressure,
    temperatures,
)
from scheduling.domain.bounds import Numbers, within

_MISSING: Final = float("nan")


def vapour_pressure_from_dew_point(dew_point_c: ArrayLike) -> Numbers:
    """Return the vapour pressure of air with this dew point [kPa].

    Parameters
    ----------
    dew_point_c : mean of the day [degC], -90 to 60; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 14.
    """
    return saturation_vapour_pressure(
        within(dew_point_c, COLDEST_C, HOTTEST_C, field="dew_point_c", missing_ok=True)
    )


def vapour_pressure_from_humidity_range(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    humidity_min_percent: ArrayLike,
    humidity_max_percent: ArrayLike,
) -> Numbers:
    """Return the vapour pressure of a day from its lowest and highest relative humidity [kPa].

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.
    humidity_min_percent, humidity_max_percent : [%], 0 to 100; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 17: the highest humidity goes with the lowest temperature.
    """
    low, high = temperatures(tmin_c, tmax_c)
    driest = _percent(humidity_min_percent, "humidity_min_percent")
    dampest = _percent(humidity_max_percent, "humidity_max_percent")
    ea: Numbers = (
        saturation_vapour_pressure(low) * dampest + saturation_vapour_pressure(high) * driest
    ) / 200
    return ea


def vapour_pressure_from_highest_humidity(
    tmin_c: ArrayLike, humidity_max_percent: ArrayLike
) -> Numbers:
    """Return the vapour pressure of a day from its highest relative humidity alone [kPa].

    Parameters
    ----------
    tmin_c : lowest temperature [degC]; NaN (missing) gives NaN.
    humidity_max_percent : [%], 0 to 100; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 18.
    """
    dampest = _percent(humidity_max_percent, "humidity_max_percent")
    low = within(tmin_c, COLDEST_C, HOTTEST_C, field="tmin_c", missing_ok=True)
    ea: Numbers = saturation_vapour_pressure(low) * dampest / 100
    return ea


def vapour_pressure_from_mean_humidity(
    tmin_c: ArrayLike, tmax_c: ArrayLike, humidity_percent: ArrayLike
) -> Numbers:
    """Return the vapour pressure of a day from its mean relative humidity [kPa].

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.
    humidity_percent : [%], 0 to 100; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 19, which calls it less desirable than the others.
    """
    mean = _percent(humidity_percent, "humidity_percent")
    ea: Numbers = mean_saturation_vapour_pressure(tmin_c, tmax_c) * mean / 100
    return ea


def actual_vapour_pressure(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    *,
    dew_point_c: ArrayLike = _MISSING,
    humidity_min_percent: ArrayLike = _MISSING,
    humidity_max_percent: ArrayLike = _MISSING,
    humidity_percent: ArrayLike = _MISSING,
) -> Numbers:
    """Return the vapour pressure of each day from the best that it has [kPa].

    In order: the dew point, both ends of the relative humidity, its highest, its mean. A day with
    none of them is NaN. A dew point above the day's highest temperature, and a lowest humidity
    above the highest, contradict themselves and count as missing.

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.
    dew_point_c : mean of the day [degC], -90 to 60.
    humidity_min_percent, humidity_max_percent, humidity_percent : [%], 0 to 100.

    References
    ----------
    FAO-56, chapter 3, "Actual vapour pressure", eq. 14 and 17 to 19 and the order among them.
    """
    low, high = temperatures(tmin_c, tmax_c)
    dew_point = np.asarray(dew_point_c, dtype=np.float64)
    driest, dampest = (
        np.asarray(value, dtype=np.float64)
        for value in (humidity_min_percent, humidity_max_percent)
    )
    crossed = driest > dampest
    found = (
        np.where(dew_point <= high, vapour_pressure_from_dew_point(dew_point), np.nan),
        np.where(crossed, np.nan, vapour_pressure_from_humidity_range(low, high, driest, dampest)),
        np.where(crossed, np.nan, vapour_pressure_from_highest_humidity(low, dampest)),
        vapour_pressure_from_mean_humidity(low, high, humidity_percent),
    )
    return _first_known(*found)


def _first_known(*columns: Numbers) -> NDArray[np.float64]:
    best, *others = np.broadcast_arrays(*columns)
    for other in others:
        best = np.where(np.isnan(best), other, best)
    return best[()]


def _percent(values: ArrayLike, field: str) -> NDArray[np.float64]:
    return within(values, 0.0, 100.0, field=field, missing_ok=True)
