"""What the air of a day does: its pressure, how much vapour it could hold, its wind at 2 m."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import Numbers, within

COLDEST_C: Final = -90.0  # below every temperature ever measured near the ground
HOTTEST_C: Final = 60.0  # above every one
LOWEST_M: Final = -430.0  # the lowest shore on dry land
HIGHEST_M: Final = 6000.0  # above every garden
STRONGEST_M_S: Final = 75.0  # above every daily mean of the wind
PSYCHROMETRIC_PER_C: Final = 0.665e-3  # FAO-56, eq. 8: specific heat over 0.622 latent heats

_Floats = NDArray[np.float64]


def temperatures(tmin_c: ArrayLike, tmax_c: ArrayLike) -> tuple[_Floats, _Floats]:
    """Return the lowest and highest temperature of days as arrays [degC]; NaN is missing.

    Raises
    ------
    InvalidInputError
        Where the highest lies below the lowest (field "tmax_c"), or a value is absurd.
    """
    low = within(tmin_c, COLDEST_C, HOTTEST_C, field="tmin_c", missing_ok=True)
    high = within(tmax_c, COLDEST_C, HOTTEST_C, field="tmax_c", missing_ok=True)
    if np.any(high < low):
        raise InvalidInputError(
            "The highest temperature of a day lies below its lowest.",
            field="tmax_c", code="tmax-below-tmin", remedy="Exchange the two, or drop the day.",
        )  # fmt: skip
    return low, high


def pressure_kpa(elevation_m: ArrayLike) -> Numbers:
    """Return the usual air pressure at a height above the sea [kPa].

    Parameters
    ----------
    elevation_m : [m], -430 to 6000.

    References
    ----------
    FAO-56, eq. 7.
    """
    z = within(elevation_m, LOWEST_M, HIGHEST_M, field="elevation_m")
    p: Numbers = 101.3 * ((293 - 0.0065 * z) / 293) ** 5.26
    return p


def psychrometric_constant(elevation_m: ArrayLike) -> Numbers:
    """Return the psychrometric constant at a height above the sea [kPa degC-1].

    Parameters
    ----------
    elevation_m : [m], -430 to 6000.

    References
    ----------
    FAO-56, eq. 8.
    """
    return PSYCHROMETRIC_PER_C * pressure_kpa(elevation_m)


def saturation_vapour_pressure(temperature_c: ArrayLike) -> Numbers:
    """Return the vapour pressure of saturated air [kPa].

    Parameters
    ----------
    temperature_c : [degC], -90 to 60; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 11.
    """
    t = within(temperature_c, COLDEST_C, HOTTEST_C, field="temperature_c", missing_ok=True)
    return 0.6108 * np.exp(17.27 * t / (t + 237.3))


def mean_saturation_vapour_pressure(tmin_c: ArrayLike, tmax_c: ArrayLike) -> Numbers:
    """Return the mean vapour pressure of saturated air over a day [kPa].

    It is the mean at the two temperatures, which is more than that at the mean temperature.

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 12.
    """
    low, high = temperatures(tmin_c, tmax_c)
    return (saturation_vapour_pressure(low) + saturation_vapour_pressure(high)) / 2


def saturation_slope(temperature_c: ArrayLike) -> Numbers:
    """Return how fast the saturation vapour pressure grows with temperature [kPa degC-1].

    Parameters
    ----------
    temperature_c : [degC], -90 to 60; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 13.
    """
    t = np.asarray(temperature_c, dtype=np.float64)
    slope: Numbers = 4098 * saturation_vapour_pressure(t) / np.square(t + 237.3)
    return slope


def wind_at_2m(wind_m_s: ArrayLike, height_m: ArrayLike) -> Numbers:
    """Return the wind at 2 m above short grass from a measurement at any height [m s-1].

    Parameters
    ----------
    wind_m_s : mean of the day [m s-1], 0 to 75; NaN (missing) gives NaN.
    height_m : of the measurement above the ground [m], 0.5 to 100.

    References
    ----------
    FAO-56, eq. 47.
    """
    wind = within(wind_m_s, 0.0, STRONGEST_M_S, field="wind_m_s", missing_ok=True)
    z = within(height_m, 0.5, 100.0, field="height_m")
    u2: Numbers = wind * (4.87 / np.log(67.8 * z - 5.42))
    return u2
