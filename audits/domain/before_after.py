"""Two catch tests with the cups at the same places, before and after a repair.

The change is told with its interval and gates nothing: whether a repair holds is a person's word.
Pairing the cups takes the pattern of the zone out of the comparison, so that far fewer cups show a
change than two tests at other places would need.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from audits.domain.catch_test import CatchTest
from properties.domain.errors import InvalidInputError

_MIN_PER_H: Final = 60.0
# Simulated repairs of a quarter of dry heads: the 90 % interval of the change in uniformity holds
# the true one in 82 of 100 retests of 16 cups, in 86 of 24, but only in 69 of 8.
MIN_CUPS_FOR_DU_INTERVAL: Final = 16
# Student's t, 5 % in each tail, by degrees of freedom (any table of t; checked by integration).
_T_DEGREES: Final = (*range(1, 31), 40, 60, 120, math.inf)
_T_90: Final = (
    6.3138, 2.9200, 2.3534, 2.1318, 2.0150, 1.9432, 1.8946, 1.8595, 1.8331, 1.8125,
    1.7959, 1.7823, 1.7709, 1.7613, 1.7531, 1.7459, 1.7396, 1.7341, 1.7291, 1.7247,
    1.7207, 1.7171, 1.7139, 1.7109, 1.7081, 1.7056, 1.7033, 1.7011, 1.6991, 1.6973,
    1.6839, 1.6706, 1.6577, 1.6449,
)  # fmt: skip


@dataclass(frozen=True)
class Change:
    """What changed, after less before, and its 90 % interval; None where the cups are too few."""

    value: float
    interval: tuple[float, float] | None


@dataclass(frozen=True)
class BeforeAfter:
    """Both tests, each with its rate, interval and uniformity, and what changed between them.

    `rate_change_mm_h` is the mean change at the same places [mm/h], `du_lq_change` that of the
    low-quarter uniformity (a fraction; None below four cups).
    """

    before: CatchTest
    after: CatchTest
    rate_change_mm_h: Change
    du_lq_change: Change | None


def before_and_after(
    before: CatchTest,
    after: CatchTest,
    *,
    places_before: Sequence[Hashable] | None = None,
    places_after: Sequence[Hashable] | None = None,
) -> BeforeAfter:
    """Return two tests of the same places side by side, and the paired change.

    Parameters
    ----------
    before, after : tests of single cups, at least one each.
    places_before, places_after : where each cup stood, in the order of its depths; the cups are
        paired by place. Left out for both, the first cup is paired with the first, and so on.

    Raises
    ------
    InvalidInputError
        Code "pooled-cups", "unequal-cup-counts", "place-twice" or "different-places".

    Notes
    -----
    The tests may have run for different times: cups are compared as rates. The interval of the
    uniformity follows from how much each cup pulls on it (delta method); below 16 cups it would be
    far too narrow and is left out.

    References
    ----------
    Paired t: Student 1908, "The Probable Error of a Mean".
    """
    _check_pairs(before, after)
    order = _order(before.cups, places_before, places_after)
    first, second = _rates_mm_h(before), _rates_mm_h(after)[order]
    return BeforeAfter(
        before, after, _mean_change(second - first), _du_change(before, after, order)
    )


def t_90(degrees_of_freedom: int) -> float:
    """Return Student's t with 5 % in each tail, for 1 or more degrees of freedom."""
    inverse = [1.0 / degrees for degrees in reversed(_T_DEGREES)]
    return float(np.interp(1.0 / degrees_of_freedom, inverse, _T_90[::-1]))


def _check_pairs(before: CatchTest, after: CatchTest) -> None:
    for field, test in (("before", before), ("after", after)):
        if test.is_pooled:
            raise InvalidInputError(
                "Cups that were poured together cannot be compared place by place.",
                field=field, code="pooled-cups", remedy="Measure the cups one by one.",
            )  # fmt: skip
    if before.cups != after.cups:
        raise InvalidInputError(
            f"There were {before.cups} cups before and {after.cups} after.",
            field="after", code="unequal-cup-counts",
            remedy="Set the same number of cups at the same places.",
        )  # fmt: skip


def _order(
    cups: int, before: Sequence[Hashable] | None, after: Sequence[Hashable] | None
) -> list[int]:
    """Return for each cup before which cup after stood at its place."""
    if before is None and after is None:
        return list(range(cups))
    known = tuple(before or ()), tuple(after or ())
    if len(set(known[0])) < len(known[0]) or len(set(known[1])) < len(known[1]):
        raise _places("place-twice", "Two cups of a test stand at the same place.")
    if set(known[0]) != set(known[1]) or len(known[0]) != cups:
        raise _places("different-places", "The cups did not stand at the same places.")
    where = {place: index for index, place in enumerate(known[1])}
    return [where[place] for place in known[0]]


def _places(code: str, detail: str) -> InvalidInputError:
    return InvalidInputError(
        detail, field="places_after", code=code, remedy="Set each cup where one stood before."
    )


def _rates_mm_h(test: CatchTest) -> NDArray[np.float64]:
    return np.array(test.depths_mm) * _MIN_PER_H / test.duration_min


def _mean_change(changes: NDArray[np.float64]) -> Change:
    mean = float(changes.mean())
    return Change(mean, _interval(mean, changes) if changes.size > 1 else None)


def _du_change(before: CatchTest, after: CatchTest, order: list[int]) -> Change | None:
    if before.du_lq is None or after.du_lq is None:
        return None
    change = after.du_lq - before.du_lq
    if before.cups < MIN_CUPS_FOR_DU_INTERVAL:
        return Change(change, None)
    pulls = _du_pulls(after, after.du_lq)[order] - _du_pulls(before, before.du_lq)
    return Change(change, _interval(change, pulls))


def _du_pulls(test: CatchTest, uniformity: float) -> NDArray[np.float64]:
    """Return how hard each cup pulls on the low-quarter uniformity (its influence function)."""
    depths = np.array(test.depths_mm)
    low_cups = (2 * test.cups + 4) // 8  # as `du_lq` counts them
    edge = np.sort(depths)[low_cups - 1]
    low_pulls = (np.minimum(depths, edge) - edge) * test.cups / low_cups
    pulls: NDArray[np.float64] = (low_pulls - uniformity * depths) / test.mean_depth_mm
    return pulls


def _interval(value: float, spread_of: NDArray[np.float64]) -> tuple[float, float]:
    half_width = t_90(spread_of.size - 1) * float(spread_of.std(ddof=1)) / math.sqrt(spread_of.size)
    return value - half_width, value + half_width
