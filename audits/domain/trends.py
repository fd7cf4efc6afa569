"""How a quantity of a zone changes over the years, by its tests."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np

from properties.domain.errors import InvalidInputError

# Through two points there is always a line; the third can contradict it.
LEAST_TESTS: Final = 3
# Common practice: tests within one season tell how they scatter, not how the zone ages.
LEAST_SPAN_DAYS: Final = 90.0
YEAR_DAYS: Final = 365.2425
_DAY_S: Final = 86_400.0


@dataclass(frozen=True)
class Trend:
    """The change in a year over `n` tests that span so many days; None where they are too few."""

    n: int
    span_days: float
    per_year: float | None


def trend(moments: Sequence[datetime], values: Sequence[float]) -> Trend:
    """Return the change of a value in a year by the straight line of least squares.

    Parameters
    ----------
    moments : when each value was measured, in any order.
    values : the values, one for each moment.

    Returns
    -------
    the slope [unit of the values per year of 365.2425 days]; None under three tests, or where
    they span less than 90 days.

    Raises
    ------
    InvalidInputError
        Code "unequal-counts".
    """
    if len(moments) != len(values):
        raise InvalidInputError(
            f"{len(values)} values stand for {len(moments)} moments.",
            field="values", code="unequal-counts", remedy="Give one value for each moment.",
        )  # fmt: skip
    if not moments:
        return Trend(0, 0.0, None)
    first = min(moments)
    days = np.array([(moment - first).total_seconds() / _DAY_S for moment in moments])
    span = float(days.max())
    if len(values) < LEAST_TESTS or span < LEAST_SPAN_DAYS:
        return Trend(len(values), span, None)
    centred = days - days.mean()
    slope = float(centred @ np.asarray(values, dtype=np.float64) / (centred @ centred))
    return Trend(len(values), span, slope * YEAR_DAYS)
