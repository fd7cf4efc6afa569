"""How a number, a date and a word of ours reach the reader: rounded once, here, with their unit."""

from __future__ import annotations

import math
from datetime import date
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind, PlantType, SoilTexture
from properties.domain.units import System, dimension, from_canonical, preferred_unit

# Digits that the measurement carries, by dimension: a cup is read to about half a millimetre.
_DECIMALS: Final[dict[str, dict[System, int]]] = {
    "area": {"us": 0, "metric": 0},
    "catch_depth": {"us": 2, "metric": 1},
    "depth": {"us": 2, "metric": 0},
    "rate": {"us": 2, "metric": 1},
    "volume": {"us": 0, "metric": 0},
}
_HALF_A_MINUTE: Final = 0.5
_SYMBOLS: Final = {"ft2": "ft²", "m2": "m²"}
_THOUSANDS: Final[dict[System, str]] = {"us": ",", "metric": "\u00a0"}

DASH: Final = "\N{EN DASH}"
TIMES: Final = "\N{MULTIPLICATION SIGN}"

MONTHS: Final = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_COUNTS: Final = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip

_HEAD_WORDS: Final = {
    HeadKind.ROTARY_NOZZLE: "rotary nozzles",
    HeadKind.HOSE_END: "hose-end sprinkler",
    HeadKind.DRIP: "drip line",
    HeadKind.IMPACT: "impact heads",
    HeadKind.BUBBLER: "bubblers",
    HeadKind.SPRAY: "spray heads",
    HeadKind.ROTOR: "rotors",
}
_PLANT_WORDS: Final = {
    PlantType.COOL_TURF: "cool-season turf",
    PlantType.WARM_TURF: "warm-season turf",
    PlantType.WOODY_WET_CLIMATE: "shrubs and trees",
    PlantType.WOODY_DRY_CLIMATE: "dry-climate shrubs and trees",
    PlantType.ANNUAL_FLOWERS: "annual flowers",
    PlantType.DESERT_PLANTS: "desert plants",
}


def unit_symbol(of: str, system: System) -> str:
    """Return the unit in which that system's readers meet the dimension, as it is printed."""
    unit = preferred_unit(dimension(of), system)
    return _SYMBOLS.get(unit, unit)


def number(value: float, of: str, system: System) -> str:
    """Round a canonical value once, in the reader's unit, without naming that unit.

    Parameters
    ----------
    value : the quantity in the canonical unit of its dimension (mm, mm/h, m2, L); finite.
    of : "depth", "catch_depth", "rate", "area" or "volume".
    system : "us" or "metric".

    Raises
    ------
    InvalidInputError
        For a value that is not finite: a document never prints one.
    """
    _refuse_endless(value, of)
    unit = preferred_unit(dimension(of), system)
    shown = from_canonical(value, unit, dimension(of))
    return f"{shown:,.{_DECIMALS[of][system]}f}".replace(",", _THOUSANDS[system])


def quantity(value: float, of: str, system: System) -> str:
    """Return the rounded number and its unit; parameters as in `number`."""
    return f"{number(value, of, system)} {unit_symbol(of, system)}"


def interval(low: float, high: float, of: str, system: System) -> str:
    """Return both ends of a range without their unit; parameters as in `number`."""
    return f"{number(low, of, system)}{DASH}{number(high, of, system)}"


def percent(fraction: float) -> str:
    """Return a fraction [-] as a whole percentage."""
    _refuse_endless(fraction, "percentage")
    return f"{fraction * 100:.0f}%"


def minutes(value: float) -> str:
    """Return a run time [min] as whole minutes; a run shorter than half a minute still shows."""
    _refuse_endless(value, "run time")
    return "<1" if 0 < value < _HALF_A_MINUTE else f"{value:.0f}"


def spelled_date(day: date, system: System) -> str:
    """Spell the month out, so that no reader takes the day for the month."""
    month = MONTHS[day.month - 1]
    return f"{month} {day.day}, {day.year}" if system == "us" else f"{day.day} {month} {day.year}"


def month_name(month: int) -> str:
    """Return the name of a month, 1 to 12."""
    if not 1 <= month <= 12:
        raise InvalidInputError(
            f"There is no month {month}.", field="month", remedy="Give a number from 1 to 12."
        )
    return MONTHS[month - 1]


def counted(count: int, singular: str, plural: str) -> str:
    """Return a count with its noun, in words up to twelve."""
    shown = _COUNTS[count] if 0 <= count < len(_COUNTS) else f"{count:,}"
    return f"{shown} {singular if count == 1 else plural}"


def head_words(kind: HeadKind) -> str:
    """Return how a client calls these heads."""
    return _HEAD_WORDS[kind]


def plant_words(plant: PlantType) -> str:
    """Return how a client calls these plants."""
    return _PLANT_WORDS[plant]


def soil_words(soil: SoilTexture) -> str:
    """Return the texture class in words."""
    return soil.value.replace("_", " ")


def _refuse_endless(value: float, what: str) -> None:
    if not math.isfinite(value):
        raise InvalidInputError(
            f"A {what.replace('_', ' ')} of {value} cannot be printed.",
            field=what, code="not-finite", remedy="Leave the value out if it is unknown.",
        )  # fmt: skip
