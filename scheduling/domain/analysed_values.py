"""Which values of a day come from an analysis, a model's account of days that were, not a station.

They stand in until the station's own come: one number a day holds a bit for each value.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from scheduling.domain.station_values import MEASURED

OBSERVED: Final = (*MEASURED, "solar_mj_m2")
"""The values of a stored day. Station files have no sun, but ET0 may take what is stored of it."""

_BITS: Final = 1 << np.arange(len(OBSERVED))


def marks_of(is_analysed: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the number of each day, of a row a day and a column for each of `OBSERVED`."""
    marks: NDArray[np.int64] = (is_analysed * _BITS).sum(axis=1)
    return marks


def analysed_of(marks: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return what `marks_of` took."""
    return (marks[:, None] & _BITS) > 0


def analysed_names(mark: int) -> tuple[str, ...]:
    """Return the names of a day's values that come from an analysis."""
    return tuple(name for place, name in enumerate(OBSERVED) if mark >> place & 1)
