"""What a replay came to: the account of each zone summed over years or months."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.replay_schedules import ReplayDays
from scheduling.domain.water_balance import WaterAccount
from scheduling.domain.water_columns import Array
from scheduling.domain.water_histories import Histories
from scheduling.domain.water_scores import adequacy, excess, scheduling_efficiency

Places = NDArray[np.int64]
LEAST_DEFICIT_MM: Final = 0.01  # what is less is rounding


@dataclass(frozen=True)
class Totals:
    """Sums over periods, periods x zones; depths in mm.

    runoff_mm : of too long cycles and too short soaks, net.
    drained_mm, drained_rain_mm : what irrigation and what rain overfilled.
    stress_days : growing days on which the need was not met; dry_days : those that ended below
        the readily available water. Days on which plants rest count for neither.
    adequacy, excess, scheduling_efficiency : fractions, NaN where there is no score; adequacy
        looks at growing days alone.
    """

    need_mm: Array
    effective_rain_mm: Array
    gross_mm: Array
    net_mm: Array
    uneven_loss_mm: Array
    runoff_mm: Array
    drained_mm: Array
    drained_rain_mm: Array
    deficit_mm: Array
    watering_days: Array
    stress_days: Array
    dry_days: Array
    adequacy: Array
    excess: Array
    scheduling_efficiency: Array

    def spread(self, histories: Histories) -> Totals:
        """Return the totals of all zones from those that stand for them."""
        return Totals(*(histories.spread(values) for values in vars(self).values()))

    def of(self, periods: NDArray[np.bool_], places: Sequence[int]) -> Totals:
        """Return the totals of some periods and some zones."""
        return Totals(*(values[periods][:, places] for values in vars(self).values()))


def period_starts(dates: NDArray[np.datetime64], unit: str) -> Places:
    """Return the place of the first day of each year ("Y") or month ("M")."""
    periods = dates.astype(f"datetime64[{unit}]").astype(np.int64)
    return np.flatnonzero(np.diff(periods, prepend=periods[0] - 1)).astype(np.int64)


def totals_of(account: WaterAccount, limit_mm: Array, days: ReplayDays, starts: Places) -> Totals:
    """Return the sums of an account over the periods that begin at `starts`.

    Parameters
    ----------
    account : days x zones.
    limit_mm : the store at which the readily available water is used up, days x zones [mm].
    days : the same days.
    starts : places of first days, in order, the first of them 0.

    References
    ----------
    The scores are those of `water_scores`.
    """

    def summed(values: NDArray[np.generic]) -> Array:
        return np.add.reduceat(values, starts, axis=0, dtype=np.float64)

    grows = ~days.is_resting[:, np.newaxis]
    net, runoff = summed(account.net_mm), summed(account.runoff_mm)
    soak_runoff, drained = summed(account.soak_runoff_mm), summed(account.irrigation_overflow_mm)
    drained_rain = summed(account.rain_overflow_mm)
    return Totals(
        need_mm=summed(account.need_mm),
        effective_rain_mm=summed(account.effective_rain_mm),
        gross_mm=summed(account.gross_mm),
        net_mm=net,
        uneven_loss_mm=summed(account.uneven_loss_mm),
        runoff_mm=runoff + soak_runoff,
        drained_mm=drained,
        drained_rain_mm=drained_rain,
        deficit_mm=summed(account.deficit_mm),
        watering_days=summed(account.gross_mm > 0.0),
        stress_days=summed(grows & (account.deficit_mm > LEAST_DEFICIT_MM)),
        dry_days=summed(grows & (account.stored_mm < limit_mm - LEAST_DEFICIT_MM)),
        adequacy=_array(
            adequacy(summed(account.need_mm * grows), summed(account.deficit_mm * grows))
        ),
        excess=_array(excess(net, runoff, soak_runoff, drained)),
        scheduling_efficiency=_array(
            scheduling_efficiency(net, runoff, soak_runoff, drained + drained_rain)
        ),
    )


@dataclass(frozen=True)
class ZonesTogether:
    """Several zones as one: litres of their areas, days of a mean zone, one value a period.

    `adequacy` is weighted by what each zone needs, `excess` by what it gets net, both in litres;
    NaN where no zone has a score.
    """

    litres: Array
    runoff_l: Array
    drained_l: Array
    stress_days: Array
    dry_days: Array
    adequacy: Array
    excess: Array


def zones_together(totals: Totals, areas_m2: Array) -> ZonesTogether:
    """Return the totals of zones as those of one property.

    Parameters
    ----------
    totals : periods x zones.
    areas_m2 : area of each zone [m2].
    """

    def litres(depth_mm: Array) -> Array:
        return np.asarray((depth_mm * areas_m2).sum(axis=1))

    return ZonesTogether(
        litres=litres(totals.gross_mm),
        runoff_l=litres(totals.runoff_mm),
        drained_l=litres(totals.drained_mm),
        stress_days=np.asarray(totals.stress_days.mean(axis=1)),
        dry_days=np.asarray(totals.dry_days.mean(axis=1)),
        adequacy=_weighted(totals.adequacy, totals.need_mm * areas_m2),
        excess=_weighted(totals.excess, totals.net_mm * areas_m2),
    )


def _weighted(scores: Array, weights: Array) -> Array:
    """Return the mean score of each period; zones without a score count for nothing."""
    known = np.where(np.isnan(scores), 0.0, weights)
    whole = known.sum(axis=1)
    total = (np.nan_to_num(scores) * known).sum(axis=1)
    return np.where(whole > 0.0, total / np.where(whole > 0.0, whole, 1.0), np.nan)


@dataclass(frozen=True)
class PickedYears:
    """Three of the years, by need less effective rain."""

    dry: int
    median: int
    wet: int


def pick_years(years: NDArray[np.int64], wanted_mm: Array) -> PickedYears:
    """Return the years with the most, the middle and the least need less effective rain.

    Parameters
    ----------
    years : the years, at least one.
    wanted_mm : need less effective rain of each [mm]. Of an even number of years the median is
        the drier of the two in the middle; of two alike the earlier counts as the wetter.
    """
    if not years.size or years.shape != wanted_mm.shape:
        raise InvalidInputError(
            "There is no year to pick from.", field="years", remedy="Give one value a year."
        )
    order = np.argsort(wanted_mm, kind="stable")
    middle = order[years.size // 2]
    return PickedYears(int(years[order[-1]]), int(years[middle]), int(years[order[0]]))


def _array(values: object) -> Array:
    return np.asarray(values, dtype=np.float64)
