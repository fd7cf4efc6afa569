"""Two ways of watering side by side: what the one takes and harms less than the other."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_columns import Array

LEVEL: Final = 0.90  # as the interval of a measured rate
_LEAST_YEARS: Final = 2
_LITRES_PER_M3: Final = 1000.0
_NEXT_TO_NOTHING_PERCENT: Final = 0.5  # rounds to no percent


@dataclass(frozen=True)
class WayOfWatering:
    """What one way comes to in each year: water of all zones [L], stress days of a mean zone."""

    litres: Array
    stress_days: Array


@dataclass(frozen=True)
class ZoneLitres:
    """Water of each zone in each year [L], years x zones, and how wrong the rates may be.

    `rate_low` (0 or less) and `rate_high` (0 or more) are the ends of the interval of the rate of
    each zone, as parts of the rate; both 0 where nobody measured it.
    """

    litres: Array
    rate_low: Array
    rate_high: Array

    def of(self, places: NDArray[np.int64]) -> ZoneLitres:
        """Return some of the zones."""
        return ZoneLitres(self.litres[:, places], self.rate_low[places], self.rate_high[places])


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


@dataclass(frozen=True)
class Interval:
    """The mean difference of a year [L], within what a coming one lies, and what makes it so wide.

    `low` to `high` hold nine of ten coming years. `years_half` is the half width by the spread from
    year to year, None of a single year; `rates_low` and `rates_high` are how far the errors of the
    measured rates reach down and up.
    """

    litres: float
    low: float
    high: float
    years_half: float | None
    rates_low: float
    rates_high: float


def difference_interval(
    one: ZoneLitres, other: ZoneLitres, shares_rate: NDArray[np.bool_]
) -> Interval:
    """Return within what the difference of a coming year lies, in nine of ten cases.

    1. The spread from year to year: of one more year like those, by Student's t.
    2. The rate: what a zone gets for its minutes goes with it, so the difference of each zone is
       as wrong as its rate. Errors of zones are independent. Where the other way has another rate,
       the one way alone is as wrong as its own.
    3. The two are independent: their squares add up.

    What the model leaves out, such as how deep roots are, is in neither.

    Parameters
    ----------
    one, other : the same years and zones.
    shares_rate : whether both ways water a zone at the same measured rate.

    References
    ----------
    A further value of a sample: t s sqrt(1 + 1 / n), in any text on prediction intervals.
    """
    each = other.litres - one.litres
    mean = float(each.sum(axis=1).mean())
    years_half = _years_half(each.sum(axis=1))
    moved = np.where(shares_rate, each, -one.litres).mean(axis=0)
    ends = np.array([moved * one.rate_low, moved * one.rate_high])
    down, up = (float(np.sqrt((end**2).sum())) for end in (ends.min(axis=0), ends.max(axis=0)))
    low, high = (float(np.hypot(years_half or 0.0, reach)) for reach in (down, up))
    return Interval(mean, mean - low, mean + high, years_half, down, up)


def _years_half(litres: Array) -> float | None:
    years = litres.size
    if years < _LEAST_YEARS:
        return None
    t = float(stdtrit(years - 1, 0.5 + LEVEL / 2))
    return t * float(litres.std(ddof=1)) * math.sqrt(1.0 + 1.0 / years)


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
