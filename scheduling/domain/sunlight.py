"""The sun: what arrives above the air, how long it is up, and what reaches the ground."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduling.domain.air import HIGHEST_M, LOWEST_M, temperatures
from scheduling.domain.bounds import Numbers, within

SOLAR_CONSTANT_MJ_M2_MIN: Final = 0.0820  # FAO-56, eq. 21
OVERCAST_SHARE: Final = 0.25  # FAO-56, eq. 35: of the light above the air, under full cloud
SUNSHINE_SHARE: Final = 0.50  # FAO-56, eq. 35: what sunshine adds to it
INLAND_COEFFICIENT: Final = 0.16  # FAO-56, eq. 50 [degC-0.5]: land masses dominate
COAST_COEFFICIENT: Final = 0.19  # FAO-56, eq. 50: on or beside the coast of a large water
STRONGEST_SUN_MJ_M2: Final = 60.0  # above every day above the air

# A year has 366 days at most, so what depends on the day alone is looked up: eq. 23 and 24.
_YEAR_ANGLE: Final = 2 * np.pi / 365 * np.arange(367)
_DISTANCE: Final = 1 + 0.033 * np.cos(_YEAR_ANGLE)
_DECLINATION_SIN: Final = np.sin(0.409 * np.sin(_YEAR_ANGLE - 1.39))
_DECLINATION_COS: Final = np.cos(0.409 * np.sin(_YEAR_ANGLE - 1.39))

_Floats = NDArray[np.float64]


def extraterrestrial_radiation(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> Numbers:
    """Return the sunlight that a level plane above the air gets in a day [MJ m-2 d-1].

    Parameters
    ----------
    latitude_deg : [degrees], north positive, -90 to 90.
    day_of_year : [d], 1 to 366; a fraction counts as its day.

    Raises
    ------
    InvalidInputError
        For a latitude or day out of range.

    References
    ----------
    Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 21 to 25. Where the sun does not
    rise or does not set, the argument of eq. 25 is clipped: a sunset angle of 0 or of pi.
    """
    flat, upright, cosine = _sun(latitude_deg, day_of_year)
    height = np.arccos(cosine) * flat + upright * np.sqrt(1 - np.square(cosine))
    day_min = 24 * 60
    dr = _DISTANCE[_day_index(day_of_year)]
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
    _, _, cosine = _sun(latitude_deg, day_of_year)
    return 24 / np.pi * np.arccos(cosine)


def clear_sky_radiation(radiation: ArrayLike, elevation_m: ArrayLike) -> Numbers:
    """Return what reaches the ground under a clear sky [MJ m-2 d-1].

    Parameters
    ----------
    radiation : extraterrestrial radiation [MJ m-2 d-1], 0 to 60; NaN (missing) gives NaN.
    elevation_m : [m], -430 to 6000.

    References
    ----------
    FAO-56, eq. 37.
    """
    ra = within(radiation, 0.0, STRONGEST_SUN_MJ_M2, field="radiation", missing_ok=True)
    z = within(elevation_m, LOWEST_M, HIGHEST_M, field="elevation_m")
    rso: Numbers = (0.75 + 2e-5 * z) * ra
    return rso


def solar_from_sunshine(
    radiation: ArrayLike, sunshine_h: ArrayLike, daylight_h: ArrayLike
) -> Numbers:
    """Return what reaches the ground from the hours of bright sunshine [MJ m-2 d-1].

    More sunshine than daylight counts as sunshine all day; no daylight, as no sunshine.

    Parameters
    ----------
    radiation : extraterrestrial radiation [MJ m-2 d-1], 0 to 60; NaN (missing) gives NaN.
    sunshine_h : [h], 0 to 24; NaN (missing) gives NaN.
    daylight_h : [h], 0 to 24.

    References
    ----------
    FAO-56, eq. 35, with the coefficients for places without a calibration.
    """
    ra = within(radiation, 0.0, STRONGEST_SUN_MJ_M2, field="radiation", missing_ok=True)
    n = within(sunshine_h, 0.0, 24.0, field="sunshine_h", missing_ok=True)
    possible = within(daylight_h, 0.0, 24.0, field="daylight_h")
    share = np.minimum(n / np.where(possible > 0, possible, 24.0), 1.0)
    rs: Numbers = (OVERCAST_SHARE + SUNSHINE_SHARE * share) * ra
    return rs


def solar_from_temperatures(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    radiation: ArrayLike,
    *,
    coefficient: ArrayLike = INLAND_COEFFICIENT,
) -> Numbers:
    """Return what reaches the ground, judged by the span of the temperatures [MJ m-2 d-1].

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.
    radiation : extraterrestrial radiation [MJ m-2 d-1], 0 to 60; NaN (missing) gives NaN.
    coefficient : [degC-0.5], 0.05 to 0.4; 0.16 inland, 0.19 on the coast.

    References
    ----------
    FAO-56, eq. 50 (Hargreaves).
    """
    low, high = temperatures(tmin_c, tmax_c)
    ra = within(radiation, 0.0, STRONGEST_SUN_MJ_M2, field="radiation", missing_ok=True)
    k = within(coefficient, 0.05, 0.4, field="coefficient")
    rs: Numbers = k * np.sqrt(high - low) * ra
    return rs


def _sun(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> tuple[_Floats, _Floats, _Floats]:
    """Products of the sines and of the cosines of latitude and declination; cosine of sunset.

    The cosine is that of eq. 25. At a pole the products decide whether the sun is up all day or
    not at all.
    """
    phi = np.radians(within(latitude_deg, -90.0, 90.0, field="latitude_deg"))
    day = _day_index(day_of_year)
    flat, upright = np.sin(phi) * _DECLINATION_SIN[day], np.cos(phi) * _DECLINATION_COS[day]
    return flat, upright, np.clip(-flat / upright, -1.0, 1.0)


def _day_index(day_of_year: ArrayLike) -> NDArray[np.int64]:
    return within(day_of_year, 1.0, 366.0, field="day_of_year").astype(np.int64)
