"""Reference evapotranspiration: of a day from the temperatures alone or in full, and of an hour."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from scheduling.domain.air import (
    COLDEST_C,
    HOTTEST_C,
    STRONGEST_M_S,
    mean_saturation_vapour_pressure,
    psychrometric_constant,
    saturation_slope,
    saturation_vapour_pressure,
    temperatures,
)
from scheduling.domain.blocks import in_blocks
from scheduling.domain.bounds import Numbers, within
from scheduling.domain.et0_calibration import LocalCalibration, local_calibration
from scheduling.domain.net_radiation import DAMPEST_KPA, net_radiation
from scheduling.domain.sunlight import (
    STRONGEST_SUN_MJ_M2,
    clear_sky_radiation,
    daylight_h,
    extraterrestrial_radiation,
)

__all__ = [
    "COLDEST_C",
    "HOTTEST_C",
    "LocalCalibration",
    "daylight_h",
    "extraterrestrial_radiation",
    "hargreaves",
    "hourly_penman_monteith",
    "local_calibration",
    "penman_monteith",
    "soil_heat_of_hour",
    "tall_reference",
]

EVAPORATION_MM_PER_MJ_M2: Final = 0.408  # FAO-56, eq. 20: the inverse of the latent heat at 20 degC
HARGREAVES_FACTOR: Final = 0.0023  # FAO-56, eq. 52
HARGREAVES_OFFSET_C: Final = 17.8  # FAO-56, eq. 52
HOUR_NUMERATOR: Final = 37.0  # FAO-56, eq. 53: 900 over 24


@dataclass(frozen=True)
class _Surface:
    """The two constants by which ASCE-EWRI 2005, Table 1, tells reference surfaces apart."""

    numerator: float
    denominator: float


_SHORT: Final = _Surface(900.0, 0.34)  # clipped grass, 0.12 m: also FAO-56, eq. 6
_TALL: Final = _Surface(1600.0, 0.38)  # alfalfa, 0.50 m


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
    low, high = temperatures(tmin_c, tmax_c)
    ra = within(radiation, 0.0, STRONGEST_SUN_MJ_M2, field="radiation", missing_ok=True)
    warmth = (low + high) / 2 + HARGREAVES_OFFSET_C
    et0 = HARGREAVES_FACTOR * EVAPORATION_MM_PER_MJ_M2 * warmth * np.sqrt(high - low) * ra
    return np.maximum(et0, 0.0)


def penman_monteith(  # noqa: PLR0913, PLR0917 -- what the equation needs, each a quantity of its own
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    ea_kpa: ArrayLike,
    rs_mj: ArrayLike,
    u2_m_s: ArrayLike,
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    elevation_m: ArrayLike,
) -> Numbers:
    """Return reference evapotranspiration of short grass in full [mm d-1], never negative.

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest air temperature [degC], -90 to 60; NaN gives NaN.
    ea_kpa : vapour pressure of the air [kPa], 0 to 20; NaN gives NaN. Above saturation its
        dryness counts as none.
    rs_mj : solar radiation on the ground [MJ m-2 d-1], 0 to 60; NaN gives NaN.
    u2_m_s : mean wind at 2 m [m s-1], 0 to 75; NaN gives NaN.
    latitude_deg : [degrees], north positive, -90 to 90.
    day_of_year : [d], 1 to 366.
    elevation_m : [m], -430 to 6000.

    Raises
    ------
    InvalidInputError
        Where the highest temperature lies below the lowest (field "tmax_c"), or a value is out of
        its range.

    References
    ----------
    FAO-56, eq. 6 with no heat into the soil over a day (eq. 42). It equals the short reference
    (ETos) of ASCE-EWRI 2005, eq. 1.
    """
    return in_blocks(
        partial(_daily, _SHORT),
        tmin_c, tmax_c, ea_kpa, rs_mj, u2_m_s, latitude_deg, day_of_year, elevation_m,
    )  # fmt: skip


def tall_reference(  # noqa: PLR0913, PLR0917 -- as penman_monteith
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    ea_kpa: ArrayLike,
    rs_mj: ArrayLike,
    u2_m_s: ArrayLike,
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    elevation_m: ArrayLike,
) -> Numbers:
    """Return reference evapotranspiration of tall alfalfa [mm d-1], never negative.

    Parameters, ranges and errors are those of `penman_monteith`. Plant factors for turf and garden
    go with the short reference, not with this one.

    References
    ----------
    ASCE-EWRI 2005, eq. 1 with the constants for ETrs of Table 1.
    """
    return in_blocks(
        partial(_daily, _TALL),
        tmin_c, tmax_c, ea_kpa, rs_mj, u2_m_s, latitude_deg, day_of_year, elevation_m,
    )  # fmt: skip


def hourly_penman_monteith(
    temperature_c: ArrayLike,
    ea_kpa: ArrayLike,
    rn_mj: ArrayLike,
    g_mj: ArrayLike,
    u2_m_s: ArrayLike,
    elevation_m: ArrayLike,
) -> Numbers:
    """Return reference evapotranspiration of short grass in an hour [mm h-1], never negative.

    Parameters
    ----------
    temperature_c : mean of the hour [degC], -90 to 60; NaN (missing) gives NaN.
    ea_kpa : vapour pressure of the air [kPa], 0 to 20; NaN (missing) gives NaN.
    rn_mj, g_mj : net radiation, and heat into the soil [MJ m-2 h-1], -5 to 5; NaN gives NaN.
    u2_m_s : mean wind at 2 m [m s-1], 0 to 75; NaN (missing) gives NaN.
    elevation_m : [m], -430 to 6000.

    References
    ----------
    FAO-56, eq. 53.
    """
    t = within(temperature_c, COLDEST_C, HOTTEST_C, field="temperature_c", missing_ok=True)
    rn = within(rn_mj, -5.0, 5.0, field="rn_mj", missing_ok=True)
    available = rn - within(g_mj, -5.0, 5.0, field="g_mj", missing_ok=True)
    es, surface = saturation_vapour_pressure(t), _Surface(HOUR_NUMERATOR, _SHORT.denominator)
    return _combined(surface, t, available, (es, ea_kpa), u2_m_s, elevation_m)


def soil_heat_of_hour(rn_mj: ArrayLike) -> Numbers:
    """Return the heat that goes into the soil under grass in an hour [MJ m-2 h-1].

    Parameters
    ----------
    rn_mj : net radiation [MJ m-2 h-1], -5 to 5; below 0 it is night. NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 45 (day) and 46 (night).
    """
    rn = within(rn_mj, -5.0, 5.0, field="rn_mj", missing_ok=True)
    return np.where(rn < 0, 0.5, 0.1) * rn


def _daily(  # noqa: PLR0913, PLR0917 -- as penman_monteith
    surface: _Surface,
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    ea_kpa: ArrayLike,
    rs_mj: ArrayLike,
    u2_m_s: ArrayLike,
    latitude_deg: ArrayLike,
    day_of_year: ArrayLike,
    elevation_m: ArrayLike,
) -> Numbers:
    low, high = temperatures(tmin_c, tmax_c)
    ra = extraterrestrial_radiation(latitude_deg, day_of_year)
    rn = net_radiation(low, high, ea_kpa, rs_mj, clear_sky_radiation(ra, elevation_m))
    es = mean_saturation_vapour_pressure(low, high)
    return _combined(surface, (low + high) / 2, rn, (es, ea_kpa), u2_m_s, elevation_m)


def _combined(
    surface: _Surface,
    t: Numbers,
    available: Numbers,
    es_and_ea_kpa: tuple[Numbers, ArrayLike],
    u2_m_s: ArrayLike,
    elevation_m: ArrayLike,
) -> Numbers:
    """FAO-56, eq. 6: the sum of what the radiation and what the dryness of the air evaporates."""
    es, ea_kpa = es_and_ea_kpa
    ea = within(ea_kpa, 0.0, DAMPEST_KPA, field="ea_kpa", missing_ok=True)
    u2 = within(u2_m_s, 0.0, STRONGEST_M_S, field="u2_m_s", missing_ok=True)
    slope, gamma = saturation_slope(t), psychrometric_constant(elevation_m)
    by_radiation = EVAPORATION_MM_PER_MJ_M2 * slope * available
    by_dryness = gamma * u2 * surface.numerator / (t + 273) * np.maximum(es - ea, 0.0)
    total = by_radiation + by_dryness
    return np.maximum(total / (slope + gamma * (1 + surface.denominator * u2)), 0.0)
