"""Filling a station's missing days from its neighbours, with what sets them apart taken out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError

_Floats = NDArray[np.float64]
_Bools = NDArray[np.bool_]

# Common practice: a difference that rests on fewer common days says more of them than of the
# places. 30 of the three months around a month, 90 of the whole record for rain.
LEAST_COMMON_DAYS: Final = 30
LEAST_COMMON_RAIN_DAYS: Final = 90
LARGEST_RAIN_RATIO: Final = 3.0  # common practice: beyond it, or below 1/3, it is another climate
MOST_NEIGHBOURS: Final = 3  # common practice
# Of unrelated gauges, each wet on one day of six, three together are wet on two of five
# (arithmetic: 1 - (5/6)^3 = 0.42): a mean of several would fill rain that is far too frequent.
MOST_GAUGES: Final = 1
NEAREST_KM: Final = 1.0  # closer counts as this close, so that no weight is endless


class Mark(IntEnum):
    """Where a value comes from."""

    OBSERVED = 0
    FILLED = 1
    GAP = 2
    ANALYSED = 3
    """A model's account of a day that was, at the station's place."""


class Bias(IntEnum):
    """How a neighbour is brought to the station: by a difference, or by a ratio."""

    DIFFERENCE = 0
    RATIO = 1


@dataclass(frozen=True)
class Neighbour:
    """A neighbour's values on the station's days, NaN where it has none, and its distance [km]."""

    values: _Floats
    distance_km: float


@dataclass(frozen=True)
class FilledSeries:
    """Values with a `Mark` for each day, and which neighbours each filled value was made of.

    `sources` has a row for each neighbour, in the order given, true on the days it helped on.
    """

    values: _Floats
    marks: NDArray[np.int8]
    sources: _Bools

    @property
    def filled_days(self) -> int:
        return int((self.marks == Mark.FILLED).sum())

    @property
    def gap_days(self) -> int:
        return int((self.marks == Mark.GAP).sum())

    def since(self, place: int) -> FilledSeries:
        """Return the days from that place on."""
        return FilledSeries(self.values[place:], self.marks[place:], self.sources[:, place:])


def fill_gaps(
    dates: NDArray[np.datetime64],
    values: _Floats,
    neighbours: Sequence[Neighbour],
    *,
    bias: Bias,
    lowest: float = -np.inf,
) -> FilledSeries:
    """Fill each missing day from the neighbours that have it.

    1. Each neighbour is brought to the station. By difference: the mean difference of their common
       days in the month and the two months beside it, over all years, at least 30 days; a month
       without enough of them is not filled from that neighbour. By ratio: the ratio of their sums
       over all common days, at least 90, held to 1/3 to 3; no rain stays no rain. A neighbour with
       too few common days does not help.
    2. By difference: of the neighbours that have the day, the three nearest are averaged, weighted
       by the inverse square of their distance. By ratio: the nearest that has the day stands in
       alone, for several averaged gauges are wet on more days, and less so, than any of them.
    3. A day that nobody has stays NaN and is marked as a gap. What was observed never changes.

    Parameters
    ----------
    dates : the days, as datetime64[D], in any order.
    values : the station's values, NaN where missing.
    neighbours : others on the same days, in any order.
    bias : difference for temperatures and ET0, ratio for rain.
    lowest : filled values are held at or above it.

    Raises
    ------
    InvalidInputError
        For arrays of another length than `dates`, or a distance that is no distance.

    References
    ----------
    Difference of common days, and normal ratio (Paulhus and Kohler 1952, Monthly Weather Review
    80: 129-133): from memory. Inverse square of the distance: common practice.
    """
    _refuse_crooked(dates, values, neighbours)
    missing = np.isnan(values)
    if not missing.any() or not neighbours:
        marks = np.where(missing, Mark.GAP, Mark.OBSERVED).astype(np.int8)
        none = np.zeros((len(neighbours), values.size), dtype=bool)
        return FilledSeries(values.copy(), marks, none)
    adjust = _by_difference if bias is Bias.DIFFERENCE else _by_ratio
    adjusted = np.array([adjust(dates, values, each.values) for each in neighbours])
    distances_km = np.array([each.distance_km for each in neighbours])
    most = MOST_NEIGHBOURS if bias is Bias.DIFFERENCE else MOST_GAUGES
    helps = _nearest(~np.isnan(adjusted) & missing, distances_km, most)
    estimate = _weighted(adjusted, helps, distances_km)
    filled = helps.any(axis=0)
    marks = np.select([filled, missing], [Mark.FILLED, Mark.GAP], Mark.OBSERVED)
    return FilledSeries(
        np.where(filled, np.maximum(estimate, lowest), values), marks.astype(np.int8), helps
    )


def reconcile(low: FilledSeries, high: FilledSeries) -> tuple[FilledSeries, FilledSeries]:
    """Return both temperatures so that no filled one contradicts the other.

    A filled value gives way to an observed one; of two filled ones both become their mean.
    """
    crossed = low.values > high.values  # false where one of them is missing
    low_gives = crossed & (low.marks == Mark.FILLED)
    high_gives = crossed & (high.marks == Mark.FILLED)
    middle = (low.values + high.values) / 2
    return (
        replace(low, values=_give_way(low.values, high.values, middle, low_gives, high_gives)),
        replace(high, values=_give_way(high.values, low.values, middle, high_gives, low_gives)),
    )


def _give_way(
    own: _Floats, other: _Floats, middle: _Floats, own_gives: _Bools, other_gives: _Bools
) -> _Floats:
    return np.select([own_gives & other_gives, own_gives], [middle, other], own)


def _by_difference(dates: NDArray[np.datetime64], own: _Floats, other: _Floats) -> _Floats:
    month = dates.astype("datetime64[M]").astype(np.int64) % 12
    common = ~np.isnan(own) & ~np.isnan(other)
    counts = _season(np.bincount(month[common], minlength=12))
    sums = _season(np.bincount(month[common], weights=(own - other)[common], minlength=12))
    mean = np.where(counts >= LEAST_COMMON_DAYS, sums / np.maximum(counts, 1), np.nan)
    return np.asarray(other + mean[month])


def _season(monthly: NDArray[np.float64] | NDArray[np.int64]) -> _Floats:
    """Sum each month with the two beside it; December lies beside January."""
    return np.asarray(monthly + np.roll(monthly, 1) + np.roll(monthly, -1), dtype=np.float64)


def _by_ratio(dates: NDArray[np.datetime64], own: _Floats, other: _Floats) -> _Floats:
    common = ~np.isnan(own) & ~np.isnan(other)
    if common.sum() < LEAST_COMMON_RAIN_DAYS:
        return np.full_like(other, np.nan)
    ours, theirs = own[common].sum(), other[common].sum()
    ratio = ours / theirs if theirs > 0 else 1.0
    return np.asarray(other * np.clip(ratio, 1 / LARGEST_RAIN_RATIO, LARGEST_RAIN_RATIO))


def _nearest(has: _Bools, distances_km: _Floats, most: int) -> _Bools:
    """Keep, day by day, the nearest few of those that have it."""
    order = np.argsort(distances_km, kind="stable")
    kept = np.zeros_like(has)
    kept[order] = has[order] & (np.cumsum(has[order], axis=0) <= most)
    return kept


def _weighted(adjusted: _Floats, helps: _Bools, distances_km: _Floats) -> _Floats:
    weight = helps / np.maximum(distances_km, NEAREST_KM)[:, None] ** 2
    total = weight.sum(axis=0)
    sums = np.where(helps, adjusted * weight, 0.0).sum(axis=0)
    return np.asarray(sums / np.where(total > 0, total, 1.0))


def _refuse_crooked(
    dates: NDArray[np.datetime64], values: _Floats, neighbours: Sequence[Neighbour]
) -> None:
    lengths: Mapping[str, int] = {
        "values": values.size,
        **{f"neighbours/{index}": each.values.size for index, each in enumerate(neighbours)},
    }
    for field, length in lengths.items():
        if length != dates.size:
            raise InvalidInputError(
                f"{field} has {length} values for {dates.size} days.",
                field=field, code="length", remedy="Give one value a day, NaN where none is known.",
            )  # fmt: skip
    for index, each in enumerate(neighbours):
        if not each.distance_km >= 0:
            raise InvalidInputError(
                f"A neighbour cannot be {each.distance_km:g} km away.",
                field=f"neighbours/{index}", code="out-of-range",
                remedy="Give its distance, 0 or more.",
            )  # fmt: skip
