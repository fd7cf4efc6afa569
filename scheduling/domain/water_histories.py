"""Zones that live through the same: their account is computed once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_columns import Array


@dataclass(frozen=True)
class Histories:
    """Which zones stand for all: `first` are their positions, `of_zone` which of them each is."""

    first: NDArray[np.intp]
    of_zone: NDArray[np.intp]

    def pick(self, values: ArrayLike) -> Array:
        """Return the values of the zones that stand for all; the last axis counts zones."""
        return np.asarray(values, dtype=np.float64)[..., self.first]

    def spread(self, results: ArrayLike) -> Array:
        """Return for every zone the result of the one that stands for it."""
        return np.asarray(results, dtype=np.float64)[..., self.of_zone]


def distinct_histories(**columns: ArrayLike) -> Histories:
    """Return which zones have identical inputs, in order of their first appearance.

    Parameters
    ----------
    columns : whatever makes the water history of a zone, each with one value for each zone or days
        x zones: the index of its weather, its storage, its factors, its waterings. A number that
        differs in its last bit is another history.

    Raises
    ------
    InvalidInputError
        Without a column, for NaN, or where a column has another number of zones than the first.
    """
    if not columns:
        raise InvalidInputError(
            "There is nothing to tell zones apart by.", field="columns", remedy="Give a column."
        )
    parts = [_by_zone(values, name) for name, values in columns.items()]
    for name, part in zip(columns, parts, strict=True):
        if len(part) != len(parts[0]):
            raise InvalidInputError(
                f"{name} has {len(part)} zones, the first column {len(parts[0])}.",
                field=name, code="shapes-differ", remedy="Give one value for each zone.",
            )  # fmt: skip
    return _grouped(parts)


def _by_zone(values: ArrayLike, name: str) -> Array:
    array = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if np.isnan(array).any():
        raise InvalidInputError(
            f"{name} has a missing value.", field=name, remedy="Fill it or leave the zone out."
        )
    by_zone = np.array(array.reshape(-1, array.shape[-1]).T, order="C")
    by_zone += 0.0  # -0.0 becomes 0.0
    return by_zone


def _grouped(parts: list[Array]) -> Histories:
    seen: dict[bytes, int] = {}
    first: list[int] = []
    of_zone = np.empty(len(parts[0]), dtype=np.intp)
    for zone, rows in enumerate(zip(*parts, strict=True)):
        key = b"".join([row.tobytes() for row in rows])
        if key not in seen:
            seen[key] = len(first)
            first.append(zone)
        of_zone[zone] = seen[key]
    return Histories(np.array(first, dtype=np.intp), of_zone)
