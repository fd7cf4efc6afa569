"""Reference evapotranspiration of a day, and the sunlight above the air that it is made from."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import Numbers, within

SOLAR_CONSTANT_MJ_M2_MIN: Final = 0.0820  # FAO-56, eq. 21
EVAPORATION_MM_PER_MJ_M2: Final = 0.408  # FAO-56, eq. 20: the inverse of the latent heat at 20 degC
HARGREAVES_FACTOR: Final = 0.0023  # FAO-56, eq. 52
HARGREAVES_OFFSET_C: Final = 17.8  # FAO-56, eq. 52
COLDEST_C: Final = -90.0  # below every temperature ever measured near the ground
HOTTEST_C: Final = 60.0  # above every one


def extraterrestrial_radiation(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Numbers:
    """Return the sunlight that a level plane above the air gets in a day [MJ m-2 d-1].

    Parameters
    ----------
    latitude_deg : [degrees], north positive, -90 to 90.
    day_of_year : [d], 1 to 366.

    Raises
    ------
    InvalidInputError
        For a latitude or day out of range.

    References
    ----------
    Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 21 to 25. Where the sun does not
    rise or does not set, the argument of eq. 25 is clipped: a sunset angle of 0 or of pi.
    """
    phi, delta, ws = _sun(latitude_deg, day_of_year)
    dr = 1 + 0.033 * np.cos(2 * np.pi / 365 * np.asarray(day_of_year, dtype=np.float64))
    height = ws * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(ws)
    day_min = 24 * 60
    ra: Numbers = day_min / np.pi * SOLAR_CONSTANT_MJ_M2_MIN * dr * height
    return np.maximum(ra, 0.0)  # rounding in the polar night


def daylight_h(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Numbers:
    """Return how long the sun is up [h], 0 to 24.

    Parameters
    ----------
    latitude_deg : [degrees], north positive, -90 to 90.
    day_of_year : [d], 1 to 366.

    References
    ----------
    FAO-56, eq. 34.
    """
    _, _, ws = _sun(latitude_deg, day_of_year)
    return 24 / np.pi * ws


def hargreaves(tmin_c: ArrayLike, tmax_c: ArrayLike, radiation: ArrayLike) -> Numbers:
    """Return reference evapotranspiration from the temperatures alone [mm d-1], never negative.

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest air temperature of the day [degC]; NaN (missing) gives NaN.
    radiation : extraterrestrial radiation [MJ m-2 d-1].

    Raises
    ------
    InvalidInputError
        Where the highest temperature lies below the lowest (field "tmax_c"), or a value is absurd.

    References
    ----------
    FAO-56, eq. 52 (Hargreaves and Samani 1985). It tends to run high where the air is humid and
    low where the wind is strong.
    """
    low = within(tmin_c, COLDEST_C, HOTTEST_C, field="tmin_c", missing_ok=True)
    high = within(tmax_c, COLDEST_C, HOTTEST_C, field="tmax_c", missing_ok=True)
    ra = within(radiation, 0.0, 60.0, field="radiation", missing_ok=True)
    if np.any(high < low):
        raise InvalidInputError(
            "The highest temperature of a day lies below its lowest.",
            field="tmax_c", code="tmax-below-tmin", remedy="Exchange the two, or drop the day.",
        )  # fmt: skip
    warmth = (low + high) / 2 + HARGREAVES_OFFSET_C
    et0 = HARGREAVES_FACTOR * warmth * np.sqrt(high - low) * ra * EVAPORATION_MM_PER_MJ_M2
    return np.maximum(et0, 0.0)


def _sun(
    latitude_deg: ArrayLike, day_of_year: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Latitude (eq. 22), declination (eq. 24) and sunset angle (eq. 25), all [rad]."""
    phi = np.radians(within(latitude_deg, -90.0, 90.0, field="latitude_deg"))
    day = within(day_of_year, 1.0, 366.0, field="day_of_year")
    delta = 0.409 * np.sin(2 * np.pi / 365 * day - 1.39)
    ws = np.arccos(np.clip(-np.tan(phi) * np.tan(delta), -1.0, 1.0))
    return phi, delta, ws
