"""Two ways of watering side by side: what the one takes and harms less than the other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_columns import Array

_LITRES_PER_M3: Final = 1000.0
_NEXT_TO_NOTHING_PERCENT: Final = 0.5  # rounds to no percent


@dataclass(frozen=True)
class WayOfWatering:
    """What one way comes to in each year: water of all zones [L], stress days of a mean zone."""

    litres: Array
    stress_days: Array


@dataclass(frozen=True)
class Difference:
    """The other way less the one, in a mean year: below 0 it takes less, or harms less.

    `litres_low` and `litres_high` are the years in which the difference is lowest and highest;
    `percent` is of what the one takes, None where that is nothing. `money` is None without price.
    """

    litres: float
    litres_low: float
    litres_high: float
    percent: float | None
    stress_days: float
    money: float | None
    sentence: str


def difference(
    one: WayOfWatering, other: WayOfWatering, *, price_per_m3: float | None = None
) -> Difference:
    """Return how the other way of watering stands to the one over the same years and zones.

    Parameters
    ----------
    one, other : the same years in the same order.
    price_per_m3 : price of water [1/m3], 0 or more.

    Raises
    ------
    InvalidInputError
        Without a year, or for different numbers of them.
    """
    if not one.litres.size or one.litres.shape != other.litres.shape:
        raise InvalidInputError(
            "The two do not have the same years.",
            field="litres", code="shapes-differ", remedy="Replay both over the same years.",
        )  # fmt: skip
    each = other.litres - one.litres
    litres, base = float(each.mean()), float(one.litres.mean())
    percent = 100.0 * litres / base if base > 0.0 else None
    stress = float((other.stress_days - one.stress_days).mean())
    return Difference(
        litres=litres,
        litres_low=float(each.min()),
        litres_high=float(each.max()),
        percent=percent,
        stress_days=stress,
        money=None if price_per_m3 is None else litres / _LITRES_PER_M3 * price_per_m3,
        sentence=f"{_water_words(percent, litres)} {_stress_words(stress)}",
    )


def _water_words(percent: float | None, litres: float) -> str:
    if percent is None:
        return "It takes water where none was taken." if litres else "Neither takes water."
    if abs(percent) < _NEXT_TO_NOTHING_PERCENT:
        return "It takes as much water."
    return (
        f"It takes {abs(percent):.0f} % {'less' if percent < 0 else 'more'} water in a mean year."
    )


def _stress_words(stress_days: float) -> str:
    days = round(abs(stress_days))
    if not days:
        return "Plants suffer on as many days."
    word = "day" if days == 1 else "days"
    return f"Plants suffer on {days} {word} {'fewer' if stress_days < 0 else 'more'} a year."


def years_together(litres: Array, stress_days: Array) -> WayOfWatering:
    """Return all zones of a property as one: years x zones in, one value a year out."""
    return WayOfWatering(np.sum(litres, axis=1), np.mean(stress_days, axis=1))
