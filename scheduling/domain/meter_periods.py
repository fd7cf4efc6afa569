"""What the meter counted from one reading to the next, beside what a replay puts down meanwhile."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_columns import Array

# A period in which at most so much of the most of any period was put down tells of no watering.
IDLE_SHARE: Final = 0.05
_DAY: Final = np.timedelta64(1, "D")


@dataclass(frozen=True)
class MeterPoint:
    """A reading of the meter [L]; `is_reset`: the meter changed since the reading before."""

    read_on: date
    reading_l: float
    is_reset: bool = False


@dataclass(frozen=True)
class MeteredDays:
    """Days in a row: what a replay puts down [L/d], and the most that may have been put down.

    The first is what the weather is taken out by, the second tells periods without watering.
    """

    dates: NDArray[np.datetime64]
    replayed_l: Array
    most_l: Array


@dataclass(frozen=True)
class MeterPeriods:
    """Periods in order; each holds the days after `since` up to `last`.

    `unusable` counts the stretches that were left out because the meter changed in them.
    """

    since: NDArray[np.datetime64]
    last: NDArray[np.datetime64]
    metered_l: Array
    replayed_l: Array
    is_idle: NDArray[np.bool_]
    unusable: int = 0

    @property
    def days(self) -> Array:
        """How many days each period has."""
        return (self.last - self.since).astype(np.float64)


def meter_periods(points: Sequence[MeterPoint], days: MeteredDays) -> MeterPeriods:
    """Return the periods between readings, with what a replay puts down in each.

    Sprinklers run in the morning, so that the day of a reading belongs to the period that it ends.
    Of several readings on a day what lies between them is added to the period that ends there;
    before the first period it is left out.

    Parameters
    ----------
    points : in order of time.
    days : at least from the day after the first reading to the last.

    Raises
    ------
    InvalidInputError
        For readings out of order, a meter that runs backwards without a reset, or missing days.
    """
    stretches = [_stretch(one, other) for one, other in itertools.pairwise(points)]
    joined = _joined_by_day(stretches)
    usable = [each for each in joined if not np.isnan(each[2])]
    since = np.array([each[0] for each in usable], dtype="datetime64[D]")
    last = np.array([each[1] for each in usable], dtype="datetime64[D]")
    replayed, most = (_sums(values, days, since, last) for values in (days.replayed_l, days.most_l))
    per_day = most / (last - since).astype(np.float64)
    is_idle = per_day <= IDLE_SHARE * per_day.max(initial=0.0)
    metered = np.array([each[2] for each in usable], dtype=np.float64)
    return MeterPeriods(since, last, metered, replayed, is_idle, len(joined) - len(usable))


_Stretch = tuple[date, date, float]


def _stretch(one: MeterPoint, other: MeterPoint) -> _Stretch:
    """Return days and litres between two readings; NaN where the meter changed."""
    if other.read_on < one.read_on:
        raise InvalidInputError(
            "The readings are out of order.",
            field="read_on", code="dates", remedy="Give the earlier reading first.",
        )  # fmt: skip
    if other.is_reset:
        return one.read_on, other.read_on, float("nan")
    if other.reading_l < one.reading_l:
        raise InvalidInputError(
            f"The meter runs backwards on {other.read_on}.",
            field="reading_l", code="meter-ran-backwards",
            remedy="Mark the reading after which the meter was another one.",
        )  # fmt: skip
    return one.read_on, other.read_on, other.reading_l - one.reading_l


def _joined_by_day(stretches: Sequence[_Stretch]) -> list[_Stretch]:
    joined: list[_Stretch] = []
    for since, last, litres in stretches:
        if since != last:
            joined.append((since, last, litres))
        elif joined:
            first, end, before = joined[-1]
            joined[-1] = (first, end, before + litres)
    return joined


def _sums(
    values: Array, days: MeteredDays, since: NDArray[np.datetime64], last: NDArray[np.datetime64]
) -> Array:
    """Return the sums over the days of each period."""
    if not since.size:
        return np.zeros(0)
    if since[0] + _DAY < days.dates[0] or last[-1] > days.dates[-1]:
        raise InvalidInputError(
            "The replay does not cover the readings.",
            field="dates", code="dates", remedy="Replay all days from the first reading on.",
        )  # fmt: skip
    until = np.concatenate(([0.0], np.cumsum(values)))
    first = (since - days.dates[0]).astype(np.int64) + 1
    sums: Array = until[(last - days.dates[0]).astype(np.int64) + 1] - until[first]
    return sums
