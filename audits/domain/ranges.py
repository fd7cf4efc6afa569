"""The one refusal of numbers that are missing, not finite or beyond belief."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError

FloatOrArray = float | NDArray[np.float64]


@dataclass(frozen=True)
class Range:
    """What a quantity may be, both ends allowed: its name and unit in words, and its limits."""

    what: str
    unit: str
    low: float
    high: float

    def numbers(
        self, values: ArrayLike | None, *, field: str, remedy: str = ""
    ) -> NDArray[np.float64]:
        """Return the values as an array of the same shape if all lie in the range.

        The remedy of a refusal is to enter a number in the range, unless another is given.

        Raises
        ------
        InvalidInputError
            Code "missing" for None, "out-of-range" for any value outside or not a number.
        """
        remedy = remedy or f"Enter a number from {self.low:g} to {self.high:g} {self.unit}."
        if values is None:
            raise InvalidInputError(
                f"The {self.what} is missing.", field=field, code="missing", remedy=remedy
            )
        numbers = np.asarray(values, dtype=np.float64)
        wrong = numbers[~((numbers >= self.low) & (numbers <= self.high))]
        if wrong.size:
            raise InvalidInputError(
                f"{wrong[0]:g} {self.unit} is not a believable {self.what}.",
                field=field, code="out-of-range", remedy=remedy,
            )  # fmt: skip
        return numbers

    def number(self, value: float | None, *, field: str) -> float:
        """Return the value as a float if it lies in the range; see `numbers`."""
        return float(self.numbers(value, field=field))

    def whole(self, value: float | None, *, field: str) -> int:
        """Return the value as an int if it is whole and lies in the range; see `numbers`."""
        number = self.number(value, field=field)
        if not number.is_integer():
            raise InvalidInputError(
                f"{number:g} is not a whole {self.what}.",
                field=field, code="not-whole", remedy=f"Enter a whole number of {self.unit}.",
            )  # fmt: skip
        return int(number)


FRACTION = Range("fraction", "(as a fraction of 1)", 0.0, 1.0)
RATE_MM_H = Range("rate", "mm/h", 0.0, 1000.0)
FLOW_L_MIN = Range("flow", "L/min", 0.0, 20_000.0)
