"""What pipes take from the pressure on its way to the heads."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from audits.domain.catch_advice import Advice
from audits.domain.nozzles import PRESSURE_KPA
from audits.domain.ranges import FLOW_L_MIN, FloatOrArray, Range
from properties.domain.errors import InvalidInputError
from properties.domain.units import dimension, to_canonical

INSIDE_MM: Final = Range("inside diameter", "mm", 1.0, 1000.0)
LENGTH_M: Final = Range("length of pipe", "m", 0.0, 10_000.0)
# Common practice: 150 smooth plastic, 140 copper, 100 old steel; 60 is nearly grown shut.
ROUGHNESS: Final = Range("Hazen-Williams coefficient", "(no unit)", 60.0, 160.0)
OUTLETS: Final = Range("number of outlets", "outlets", 1, 10_000)
# 1.75 for smooth pipe to 2 for rough pipe; 1.852 is Hazen-Williams.
EXPONENT: Final = Range("exponent of the flow", "(no unit)", 1.7, 2.0)
DESIGN_KPA: Final = Range("design pressure", "kPa", 1.0, 2500.0)

HAZEN_WILLIAMS_EXPONENT: Final = 1.852
# Practice of the US Natural Resources Conservation Service for sprinklers (from memory): at most
# 20 % of the design pressure between any two heads of a zone, so about 10 % in their flow.
MAX_PRESSURE_SPREAD: Final = 0.20
# Common practice, 5 ft/s: beyond it closing valves hammer, and losses rise steeply.
MAX_VELOCITY_M_S: Final = 1.5

# Hazen-Williams in US units: ft of head per 100 ft of pipe, gpm and in, C 100; 0.433 psi a foot.
_HEAD_FACTOR: Final = 0.2083
_DIAMETER_EXPONENT: Final = 4.8655
_REFERENCE_ROUGHNESS: Final = 100.0
_PSI_PER_FT: Final = 0.433

_GPM_L_MIN: Final = to_canonical(1.0, "gpm", dimension("flow"))
_INCH_MM: Final = to_canonical(1.0, "in", dimension("depth"))
_KPA_PER_M: Final = (
    _PSI_PER_FT
    * to_canonical(1.0, "psi", dimension("pressure"))
    / to_canonical(1.0, "ft", dimension("distance"))
)
_ROUNDING: Final = 1e-9


def friction_loss_kpa_per_100m(
    flow_l_min: ArrayLike, inside_diameter_mm: ArrayLike, c: ArrayLike = 150
) -> FloatOrArray:
    """Return the pressure that 100 m of straight pipe take from a flow.

    Parameters
    ----------
    flow_l_min : flow through the pipe [L/min], 0 to 20 000.
    inside_diameter_mm : inside diameter [mm], 1 to 1000.
    c : Hazen-Williams coefficient [-], 60 to 160; 150 is smooth plastic. All: floats or arrays of
        one shape.

    Returns
    -------
    loss [kPa per 100 m], the same shape; fittings and valves come on top.

    References
    ----------
    Hazen-Williams as commonly printed: h [ft/100 ft] = 0.2083 (100/C)^1.852 Q^1.852 / d^4.8655.
    For cool water in turbulent flow; in thin tubes at a trickle it is no more than a guide.
    """
    gpm = FLOW_L_MIN.numbers(flow_l_min, field="flow_l_min") / _GPM_L_MIN
    inches = INSIDE_MM.numbers(inside_diameter_mm, field="inside_diameter_mm") / _INCH_MM
    roughness = _REFERENCE_ROUGHNESS / ROUGHNESS.numbers(c, field="c")
    head_m = _HEAD_FACTOR * (roughness * gpm) ** HAZEN_WILLIAMS_EXPONENT
    return head_m / inches**_DIAMETER_EXPONENT * _KPA_PER_M


def velocity_m_s(flow_l_min: ArrayLike, inside_diameter_mm: ArrayLike) -> FloatOrArray:
    """Return the mean speed of the water in a full pipe.

    Parameters
    ----------
    flow_l_min : flow through the pipe [L/min], 0 to 20 000.
    inside_diameter_mm : inside diameter [mm], 1 to 1000; both floats or arrays of one shape.

    Returns
    -------
    velocity [m/s], the same shape; in US units 0.4085 gpm / in2 = ft/s.
    """
    flow_m3_s = FLOW_L_MIN.numbers(flow_l_min, field="flow_l_min") / 60_000.0
    inside_m = INSIDE_MM.numbers(inside_diameter_mm, field="inside_diameter_mm") / 1000.0
    return flow_m3_s / (np.pi / 4.0 * inside_m**2)


def velocity_advice(flow_l_min: float, inside_diameter_mm: float) -> Advice | None:
    """Return what to say of a pipe in which the water runs too fast, None if it does not.

    Parameters
    ----------
    flow_l_min, inside_diameter_mm : as in `velocity_m_s`.
    """
    speed_m_s = float(velocity_m_s(flow_l_min, inside_diameter_mm))
    if speed_m_s <= MAX_VELOCITY_M_S:
        return None
    return Advice(
        code="pipe-too-fast",
        sentence=(
            f"The water runs at {speed_m_s:.1f} m/s in this pipe, above {MAX_VELOCITY_M_S:g} m/s. "
            "A wider pipe or fewer heads at a time spare pressure and pipe."
        ),
        source="common practice: 5 ft/s",
    )


def multiple_outlet_factor(
    outlets: ArrayLike, exponent: float = HAZEN_WILLIAMS_EXPONENT
) -> FloatOrArray:
    """Return what part of the full-flow loss is left where equal outlets draw on the way.

    Parameters
    ----------
    outlets : how many equal outlets at equal distances, the first at a full distance from the
        inlet; whole, 1 to 10 000, any shape.
    exponent : of the flow in the friction law, 1.7 to 2.

    Returns
    -------
    the factor [-], the same shape: 1 for one outlet, towards 1/(exponent + 1) for many.

    References
    ----------
    Christiansen 1942, University of California Bulletin 670: 1/(m+1) + 1/(2n) + sqrt(m-1)/(6n2).
    The series gives a little over 1 for one outlet, which is held at 1.
    """
    n = _whole_outlets(outlets)
    m = EXPONENT.number(exponent, field="exponent")
    factor = 1.0 / (m + 1.0) + 1.0 / (2.0 * n) + math.sqrt(m - 1.0) / (6.0 * n**2)
    return np.minimum(factor, 1.0)


def lateral_loss_kpa(
    flow_l_min: ArrayLike,
    inside_diameter_mm: ArrayLike,
    length_m: ArrayLike,
    outlets: ArrayLike,
    *,
    c: ArrayLike = 150,
) -> FloatOrArray:
    """Return the pressure lost from the inlet of a level lateral to its last outlet.

    Parameters
    ----------
    flow_l_min : flow into the lateral, the sum of its outlets [L/min], 0 to 20 000.
    inside_diameter_mm : inside diameter, the same all along [mm], 1 to 1000.
    length_m : from the inlet to the last outlet [m], 0 to 10 000.
    outlets : equal heads at equal distances along it, 1 to 10 000.
    c : Hazen-Williams coefficient, 60 to 160. All: floats or arrays of one shape.

    Returns
    -------
    loss [kPa], the same shape.

    References
    ----------
    `friction_loss_kpa_per_100m` times `multiple_outlet_factor`.
    """
    length = LENGTH_M.numbers(length_m, field="length_m")
    per_100m = friction_loss_kpa_per_100m(flow_l_min, inside_diameter_mm, c)
    return per_100m * length / 100.0 * multiple_outlet_factor(outlets)


def pressure_spread_ok(
    spread_kpa: ArrayLike, design_kpa: ArrayLike
) -> np.bool_ | NDArray[np.bool_]:
    """Return whether the heads of a zone are near enough in pressure.

    Parameters
    ----------
    spread_kpa : highest less lowest pressure at the heads, or the loss along a level lateral
        [kPa], 0 to 2500.
    design_kpa : the pressure that the heads are meant for [kPa], 1 to 2500. Both: floats or arrays
        of one shape.

    Returns
    -------
    True up to 20 % of the design pressure, the same shape.
    """
    spread = PRESSURE_KPA.numbers(spread_kpa, field="spread_kpa")
    design = DESIGN_KPA.numbers(design_kpa, field="design_kpa")
    return spread / design <= MAX_PRESSURE_SPREAD + _ROUNDING


def _whole_outlets(outlets: ArrayLike) -> FloatOrArray:
    numbers = OUTLETS.numbers(outlets, field="outlets")
    if np.any(numbers % 1.0):
        raise InvalidInputError(
            "A number of outlets is not whole.",
            field="outlets", code="not-whole", remedy="Count the heads on the lateral.",
        )  # fmt: skip
    return numbers
