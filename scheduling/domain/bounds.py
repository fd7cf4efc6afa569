"""The range check that every computation of this app makes before it computes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError

Numbers = float | NDArray[np.float64]


def within(
    values: ArrayLike, low: float, high: float, *, field: str, missing_ok: bool = False
) -> NDArray[np.float64]:
    """Return the values as an array, or refuse them when one lies outside low to high.

    NaN stands for a missing value: it is refused unless `missing_ok`.

    Raises
    ------
    InvalidInputError
        Code "out-of-range", naming the field and the range.
    """
    if isinstance(values, float) and low <= values <= high:  # ten times faster than as an array
        return np.float64(values)
    array = np.asarray(values, dtype=np.float64)
    good = (array >= low) & (array <= high)
    if missing_ok:
        good |= np.isnan(array)
    if not good.all():
        number_within(float(array[~good].flat[0]), low, high, field=field)
    return array


def number_within(value: float, low: float, high: float, *, field: str) -> float:
    """Return one number, or refuse it when it lies outside low to high."""
    if low <= value <= high:
        return value
    raise InvalidInputError(
        f"{field} cannot be {value:g}.",
        field=field, code="out-of-range", remedy=f"Give a number from {low:g} to {high:g}.",
    )  # fmt: skip
