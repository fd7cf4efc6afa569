"""What a grass surface keeps of the sunlight, and what it sends back to the sky."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduling.domain.air import COLDEST_C, HOTTEST_C, temperatures
from scheduling.domain.bounds import Numbers, within
from scheduling.domain.sunlight import STRONGEST_SUN_MJ_M2

GRASS_ALBEDO: Final = 0.23  # FAO-56, eq. 38
STEFAN_BOLTZMANN_MJ_K4_DAY: Final = 4.903e-9  # FAO-56, eq. 39 [MJ K-4 m-2 d-1]
KELVIN: Final = 273.16  # FAO-56, eq. 39, as printed there
DAMPEST_KPA: Final = 20.0  # saturated air at 60 degC
# ASCE-EWRI 2005, eq. 18: a thicker cloud than this share of the clear sky sends no more back.
DARKEST_SHARE: Final = 0.3
_DARK_MJ_M2: Final = 1e-3  # under a sky without sun the share is 0, not undefined


def net_shortwave(rs_mj: ArrayLike) -> Numbers:
    """Return the sunlight that grass keeps [MJ m-2 d-1].

    Parameters
    ----------
    rs_mj : solar radiation on the ground [MJ m-2 d-1], 0 to 60; NaN (missing) gives NaN.

    References
    ----------
    FAO-56, eq. 38.
    """
    kept: Numbers = (1 - GRASS_ALBEDO) * _sunlight(rs_mj, "rs_mj")
    return kept


def clear_share(rs_mj: ArrayLike, rso_mj: ArrayLike) -> Numbers:
    """Return the share of the clear sky's radiation that arrived, 0.3 to 1.

    Parameters
    ----------
    rs_mj, rso_mj : what arrived, and what a clear sky gives [MJ m-2 d-1]; NaN gives NaN.

    References
    ----------
    FAO-56, eq. 39 (upper limit); ASCE-EWRI 2005, eq. 18 (lower limit).
    """
    clear = np.maximum(_sunlight(rso_mj, "rso_mj"), _DARK_MJ_M2)
    share: Numbers = np.clip(_sunlight(rs_mj, "rs_mj") / clear, DARKEST_SHARE, 1.0)
    return share


def net_longwave(
    tmin_c: ArrayLike, tmax_c: ArrayLike, ea_kpa: ArrayLike, share: ArrayLike
) -> Numbers:
    """Return the heat that the ground sends to the sky in a day [MJ m-2 d-1].

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.
    ea_kpa : vapour pressure of the air [kPa], 0 to 20; NaN (missing) gives NaN.
    share : of the clear sky's radiation that arrived, 0.3 to 1.

    References
    ----------
    FAO-56, eq. 39.
    """
    low, high = temperatures(tmin_c, tmax_c)
    glow = (_fourth_power(low + KELVIN) + _fourth_power(high + KELVIN)) / 2
    return STEFAN_BOLTZMANN_MJ_K4_DAY * glow * _leaving_share(ea_kpa, share)


def net_longwave_of_hour(temperature_c: ArrayLike, ea_kpa: ArrayLike, share: ArrayLike) -> Numbers:
    """Return the heat that the ground sends to the sky in an hour [MJ m-2 h-1].

    Parameters
    ----------
    temperature_c : mean of the hour [degC], -90 to 60; NaN (missing) gives NaN.
    ea_kpa : vapour pressure of the air [kPa], 0 to 20; NaN (missing) gives NaN.
    share : of the clear sky's radiation that arrived, 0.3 to 1; at night that of the hours before
        sunset.

    References
    ----------
    FAO-56, eq. 39 over 24, as its chapter 4 has it for hours.
    """
    t = within(temperature_c, COLDEST_C, HOTTEST_C, field="temperature_c", missing_ok=True)
    glow = STEFAN_BOLTZMANN_MJ_K4_DAY / 24 * _fourth_power(t + KELVIN)
    return glow * _leaving_share(ea_kpa, share)


def net_radiation(
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    ea_kpa: ArrayLike,
    rs_mj: ArrayLike,
    rso_mj: ArrayLike,
) -> Numbers:
    """Return what grass keeps of sunlight and heat in a day [MJ m-2 d-1]; in winter below 0.

    Parameters
    ----------
    tmin_c, tmax_c : lowest and highest temperature [degC]; NaN (missing) gives NaN.
    ea_kpa : vapour pressure of the air [kPa], 0 to 20; NaN (missing) gives NaN.
    rs_mj, rso_mj : what arrived, and what a clear sky gives [MJ m-2 d-1]; NaN gives NaN.

    References
    ----------
    FAO-56, eq. 40.
    """
    share = clear_share(rs_mj, rso_mj)
    return net_shortwave(rs_mj) - net_longwave(tmin_c, tmax_c, ea_kpa, share)


def _leaving_share(ea_kpa: ArrayLike, share: ArrayLike) -> NDArray[np.float64]:
    ea = within(ea_kpa, 0.0, DAMPEST_KPA, field="ea_kpa", missing_ok=True)
    clear = within(share, DARKEST_SHARE, 1.0, field="share", missing_ok=True)
    leaving: NDArray[np.float64] = (0.34 - 0.14 * np.sqrt(ea)) * (1.35 * clear - 0.35)
    return np.maximum(leaving, 0.0)  # eq. 39 is fitted to drier air than 5.9 kPa


def _sunlight(values: ArrayLike, field: str) -> NDArray[np.float64]:
    return within(values, 0.0, STRONGEST_SUN_MJ_M2, field=field, missing_ok=True)


def _fourth_power(kelvin: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.square(np.square(kelvin))  # many times faster than ** 4
