"""Physical quantities: one canonical metric unit for each dimension, exact conversions at the edge.

The factors are the exact definitions of the customary units: the international inch is 25.4 mm, the
US gallon is 231 cubic inches (3.785411784 L), the pound-force per square inch is 6.894757293168 kPa
(NIST Special Publication 811, appendix B).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from properties.domain.errors import InvalidInputError

System = Literal["us", "metric"]

_INCH_MM: Final = 25.4
_FOOT_M: Final = 0.3048
_GALLON_L: Final = 3.785411784
_PSI_KPA: Final = 6.894757293168
_MILE_KM: Final = 1.609344
_FLOAT_NOISE: Final = 1e-9


@dataclass(frozen=True)
class Unit:
    """One accepted unit: canonical value = value x scale + offset."""

    scale: float
    offset: float = 0.0


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity, its canonical unit, the units accepted for it and its sane range.

    `low` and `high` are in the canonical unit; outside of them a value is a slip of the keyboard.
    """

    name: str
    canonical: str
    units: dict[str, Unit]
    low: float
    high: float
    preferred: dict[System, str]


def _dimension(
    name: str, units: dict[str, Unit], low: float, high: float, us: str, metric: str
) -> Dimension:
    canonical = next(key for key, unit in units.items() if unit == Unit(1.0))
    return Dimension(name, canonical, units, low, high, {"us": us, "metric": metric})


_DEPTH_UNITS = {"mm": Unit(1.0), "cm": Unit(10.0), "in": Unit(_INCH_MM)}
_LENGTH_UNITS = {"m": Unit(1.0), "ft": Unit(_FOOT_M)}
_VOLUME_UNITS = {
    "L": Unit(1.0),
    "mL": Unit(0.001),
    "fl_oz": Unit(_GALLON_L / 128),
    "gal": Unit(_GALLON_L),
}
_CATCH_VOLUME_UNITS = {
    "mL": Unit(1.0),
    "L": Unit(1000.0),
    "fl_oz": Unit(_GALLON_L * 1000 / 128),
}

DIMENSIONS: Final[dict[str, Dimension]] = {
    dimension.name: dimension
    for dimension in (
        _dimension("depth", _DEPTH_UNITS, 0.0, 5000.0, "in", "mm"),
        _dimension("catch_depth", _DEPTH_UNITS, 0.0, 300.0, "in", "mm"),
        _dimension("rain", _DEPTH_UNITS, 0.0, 2000.0, "in", "mm"),
        _dimension("distance", _LENGTH_UNITS, 0.0, 100_000.0, "ft", "m"),
        _dimension("elevation", _LENGTH_UNITS, -430.0, 6000.0, "ft", "m"),
        _dimension(
            "area", {"m2": Unit(1.0), "ft2": Unit(_FOOT_M**2)}, 0.0, 1_000_000.0, "ft2", "m2"
        ),
        _dimension(
            "throat_area",
            {"cm2": Unit(1.0), "in2": Unit((_INCH_MM / 10) ** 2)},
            0.0, 5000.0, "in2", "cm2",
        ),
        _dimension("volume", _VOLUME_UNITS, 0.0, 1e9, "gal", "L"),
        _dimension("catch_volume", _CATCH_VOLUME_UNITS, 0.0, 50_000.0, "mL", "mL"),
        _dimension(
            "flow", {"L/min": Unit(1.0), "gpm": Unit(_GALLON_L)}, 0.0, 20_000.0, "gpm", "L/min"
        ),
        _dimension(
            "pressure",
            {"kPa": Unit(1.0), "psi": Unit(_PSI_KPA), "bar": Unit(100.0)},
            0.0, 2500.0, "psi", "kPa",
        ),
        _dimension(
            "rate", {"mm/h": Unit(1.0), "in/h": Unit(_INCH_MM)}, 0.0, 1000.0, "in/h", "mm/h"
        ),
        _dimension(
            "temperature",
            {"degC": Unit(1.0), "degF": Unit(5 / 9, -160 / 9)},
            -70.0, 60.0, "degF", "degC",
        ),
        _dimension(
            "speed",
            {"m/s": Unit(1.0), "km/h": Unit(1 / 3.6), "mph": Unit(_MILE_KM / 3.6)},
            0.0, 115.0, "mph", "m/s",
        ),
    )
}  # fmt: skip


def dimension(name: str) -> Dimension:
    """Return the dimension of that name; an unknown one is a mistake of the caller."""
    return DIMENSIONS[name]


def to_canonical(value: float, unit: str, of: Dimension, *, field: str = "value") -> float:
    """Convert an entered value to the canonical unit of its dimension.

    Parameters
    ----------
    value : the number as entered, in `unit`; finite.
    unit : one of the units of the dimension.
    of : the dimension.
    field : how an error names the value.

    Raises
    ------
    InvalidInputError
        For a unit of another dimension, a number that is not finite, or one out of range.
    """
    known = of.units.get(unit)
    if known is None:
        raise InvalidInputError(
            f"'{unit}' is not a unit of {of.name.replace('_', ' ')}.",
            field=field, code="wrong-unit", remedy=f"Use one of: {', '.join(of.units)}.",
        )  # fmt: skip
    canonical = value * known.scale + known.offset
    nearest = min(max(canonical, of.low), of.high)
    if not math.isclose(canonical, nearest, rel_tol=_FLOAT_NOISE, abs_tol=_FLOAT_NOISE):
        raise InvalidInputError(
            f"{value:g} {unit} is not a believable {of.name.replace('_', ' ')}.",
            field=field, code="out-of-range", remedy=f"Enter {_range_text(of, unit)}.",
        )  # fmt: skip
    return nearest


def from_canonical(value: float, unit: str, of: Dimension) -> float:
    """Convert a canonical number to one of the units of its dimension."""
    known = of.units[unit]
    return (value - known.offset) / known.scale


def preferred_unit(of: Dimension, system: System) -> str:
    """Return the unit in which people of that system meet the quantity."""
    return of.preferred[system]


def _range_text(of: Dimension, unit: str) -> str:
    low, high = from_canonical(of.low, unit, of), from_canonical(of.high, unit, of)
    return f"a number from {low:g} to {high:g} {unit}"
