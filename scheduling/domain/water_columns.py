"""Days by zones: the arrays that the water account reads, checked and brought to one shape."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within

Array = NDArray[np.float64]

# Lowest and highest sane value of each column, in the unit of its name.
RANGES: Final = {
    "need_mm": (0.0, 50.0),
    "expected_need_mm": (0.0, 50.0),
    "effective_rain_mm": (0.0, 2000.0),
    "forecast_rain_mm": (0.0, 2000.0),
    "gross_mm": (0.0, 1000.0),
    "runoff_mm": (0.0, 1000.0),
    "soak_runoff_mm": (0.0, 1000.0),
    "net_fraction": (0.05, 1.0),
    "storage_mm": (0.0, 5000.0),
    "reserve_mm": (0.0, 5000.0),
    "start_mm": (0.0, 10_000.0),
    "day_limit_mm": (0.0, float("inf")),
    "min_days_between": (1.0, 31.0),
    "max_days_between": (1.0, 366.0),
    "waterings_a_day": (1.0, 24.0),
    "may_water": (0.0, 1.0),
}


def column(values: ArrayLike, *, field: str) -> Array:
    """Return the values as an array, or refuse them when one is missing or out of its range.

    Two passes and no temporary: a year of 100,000 zones is 290 MB.

    Raises
    ------
    InvalidInputError
        Code "out-of-range", naming the field and the range; NaN is out of range.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.size:
        for extreme in (array.min(), array.max()):  # NaN comes out of both
            number_within(float(extreme), *RANGES[field], field=field)
    return array


def common_shape(columns: dict[str, Array]) -> tuple[int, int]:
    """Return days and zones that all columns spread to: (days, zones), (days, 1) or (zones,).

    Raises
    ------
    InvalidInputError
        Code "shapes-differ", naming the first column that does not fit the ones before it; code
        "no-days" where there is none.
    """
    shape: tuple[int, ...] = (1, 1)
    for field, array in columns.items():
        shape = _joined(shape, array, field)
    if not shape[0]:
        raise InvalidInputError(
            "There is not one day.", field="need_mm", code="no-days", remedy="Give a day at least."
        )
    return shape[0], shape[1]


def _joined(shape: tuple[int, ...], array: Array, field: str) -> tuple[int, ...]:
    try:
        joined = np.broadcast_shapes(shape, array.shape)
    except ValueError:
        joined = ()
    if len(joined) == 2:
        return joined
    raise InvalidInputError(
        f"{field} has the shape {array.shape}, beside {shape[0]} days of {shape[1]} zones.",
        field=field, code="shapes-differ",
        remedy="Give days x zones, days x 1, or one value for each zone.",
    )  # fmt: skip


def spread(columns: dict[str, Array]) -> dict[str, Array]:
    """Return each column as a view of days x zones; nothing is copied."""
    shape = common_shape(columns)
    return {field: np.broadcast_to(array, shape) for field, array in columns.items()}


def start_of(start_mm: ArrayLike | None, capacity: Array) -> Array:
    """Return what is stored before the first day, a copy for each zone; full when None.

    Raises
    ------
    InvalidInputError
        Code "start-over-capacity" for more than the first day holds, or another number of zones.
    """
    if start_mm is None:
        return np.array(capacity[0])
    start = column(start_mm, field="start_mm")
    if start.shape not in ((), (1,), capacity.shape[1:]) or np.any(start > capacity[0]):
        raise InvalidInputError(
            "The store at the start is above its capacity, or not one value for each zone.",
            field="start_mm", code="start-over-capacity",
            remedy="Give each zone what is stored before the first day.",
        )  # fmt: skip
    return np.array(np.broadcast_to(start, capacity.shape[1:]))
