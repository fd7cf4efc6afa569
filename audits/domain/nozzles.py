"""What a nozzle lets through, and the rate at which that waters an area."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from audits.domain.ranges import FLOW_L_MIN, FloatOrArray, Range

AREA_M2: Final = Range("area", "m2", 0.01, 1_000_000.0)
PRESSURE_KPA: Final = Range("nozzle pressure", "kPa", 0.0, 2500.0)
RATED_KPA: Final = Range("rated pressure", "kPa", 1.0, 2500.0)
ORIFICE_MM: Final = Range("orifice diameter", "mm", 0.1, 100.0)
# A sharp edge passes 0.6 of the ideal flow, a smooth bore nearly all of it (common practice).
COEFFICIENT: Final = Range("orifice coefficient", "(as a fraction of 1)", 0.3, 1.0)

_WATER_KG_M3: Final = 1000.0
_L_MIN_PER_M3_S: Final = 60_000.0


def nominal_rate_mm_h(flow_l_min: ArrayLike, area_m2: ArrayLike) -> FloatOrArray:
    """Return the rate at which a flow would water an area if every drop fell on it.

    Parameters
    ----------
    flow_l_min : flow of all heads on the area [L/min], 0 to 20 000.
    area_m2 : the area [m2], 0.01 to 1 000 000. Flow and area: floats or arrays of one shape.

    Returns
    -------
    rate [mm/h], the same shape.

    References
    ----------
    1 L on 1 m2 stands 1 mm deep; in US units 96.25 x gpm / ft2.
    """
    flow = FLOW_L_MIN.numbers(flow_l_min, field="flow_l_min")
    area = AREA_M2.numbers(area_m2, field="area_m2")
    return flow * 60.0 / area


def nozzle_flow_l_min(
    rated_flow_l_min: ArrayLike, rated_kpa: ArrayLike, actual_kpa: ArrayLike
) -> FloatOrArray:
    """Return the flow of a nozzle at another pressure than the one it is rated at.

    Parameters
    ----------
    rated_flow_l_min : flow at the rated pressure [L/min], 0 to 20 000.
    rated_kpa : the rated pressure [kPa], 1 to 2500.
    actual_kpa : the pressure at the nozzle [kPa], 0 to 2500. All: floats or arrays of one shape.

    Returns
    -------
    flow [L/min], the same shape. Not for pressure-regulated or pressure-compensating heads.

    References
    ----------
    Orifice law: the flow through a fixed opening grows with the square root of the pressure.
    """
    flow = FLOW_L_MIN.numbers(rated_flow_l_min, field="rated_flow_l_min")
    rated = RATED_KPA.numbers(rated_kpa, field="rated_kpa")
    actual = PRESSURE_KPA.numbers(actual_kpa, field="actual_kpa")
    return flow * np.sqrt(actual / rated)


def orifice_flow_l_min(
    diameter_mm: ArrayLike, pressure_kpa: ArrayLike, coefficient: ArrayLike
) -> FloatOrArray:
    """Return the flow through a round opening, to judge a nozzle by its bore.

    Parameters
    ----------
    diameter_mm : diameter of the opening [mm], 0.1 to 100.
    pressure_kpa : the pressure at the nozzle [kPa], 0 to 2500.
    coefficient : share of the ideal flow [-], 0.3 to 1; straight-bore sprinkler nozzles fit
        0.963 to 0.984. All: floats or arrays of one shape.

    Returns
    -------
    flow [L/min], the same shape.

    References
    ----------
    Orifice law, Cd A sqrt(2 P / density); in US units 29.82 Cd d2 sqrt(P), gpm, in and psi.
    """
    bore_m = ORIFICE_MM.numbers(diameter_mm, field="diameter_mm") / 1000.0
    pressure_pa = PRESSURE_KPA.numbers(pressure_kpa, field="pressure_kpa") * 1000.0
    share = COEFFICIENT.numbers(coefficient, field="coefficient")
    speed_m_s = np.sqrt(2.0 * pressure_pa / _WATER_KG_M3)
    return share * np.pi / 4.0 * bore_m**2 * speed_m_s * _L_MIN_PER_M3_S
