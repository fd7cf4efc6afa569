"""What a water account says of a way of watering, as the published test protocol scores it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduling.domain.bounds import Numbers, within
from scheduling.domain.water_balance import WaterAccount
from scheduling.domain.water_columns import Array

# US EPA WaterSense Specification for Weather-Based Irrigation Controllers, version 1.0 (2011), from
# memory: each zone, and the mean of the six zones.
LEAST_ADEQUACY: Final = 0.80
MOST_EXCESS: Final = 0.10
MOST_MEAN_EXCESS: Final = 0.05
# Davis and Dukes 2012, Transactions of the ASABE 55(2), 571-580: the level used in research.
LEAST_SCHEDULING_EFFICIENCY: Final = 0.95
# University of Florida, update of the test analysis for the US EPA.
SHORTEST_RUN_MIN: Final = 3.0
MOST_MISSING_DAYS: Final = 3
MOST_MISSING_IN_A_ROW: Final = 2
SCORED_WINDOW_DAYS: Final = 30  # the windows of the same specification, from memory

_DEEPEST_MM: Final = 1e7
_ROUNDING: Final = 1e-9


@dataclass(frozen=True)
class Scores:
    """The scores of each zone over some days, as fractions; NaN is no score."""

    adequacy: Array
    excess: Array
    scheduling_efficiency: Array

    @property
    def passes(self) -> bool:
        """Whether all zones keep the limits; a zone without a score breaks none."""
        kept = ~(self.adequacy < LEAST_ADEQUACY - _ROUNDING)
        kept &= ~(self.excess > MOST_EXCESS + _ROUNDING)
        scored = self.excess[~np.isnan(self.excess)]
        mean_kept = not scored.size or scored.mean() <= MOST_MEAN_EXCESS + _ROUNDING
        return bool(kept.all() and mean_kept)


def adequacy(need_mm: ArrayLike, deficit_mm: ArrayLike) -> Numbers:
    """Return how much of the need was met, a fraction.

    Parameters
    ----------
    need_mm, deficit_mm : sums over the same days [mm]; without need there is no score (NaN).

    References
    ----------
    (ETc - deficit) / ETc: trade-association test protocol for weather-based controllers (8th
    draft), from memory.
    """
    need = within(need_mm, 0.0, _DEEPEST_MM, field="need_mm")
    deficit = within(deficit_mm, 0.0, _DEEPEST_MM, field="deficit_mm")
    return _ratio(need - deficit, need)


def excess(
    net_mm: ArrayLike,
    runoff_mm: ArrayLike,
    soak_runoff_mm: ArrayLike,
    irrigation_overflow_mm: ArrayLike,
) -> Numbers:
    """Return which part of the net irrigation was lost, a fraction.

    Parameters
    ----------
    net_mm : net irrigation [mm]; without any there is no score (NaN).
    runoff_mm, soak_runoff_mm : what ran off, as net depths [mm].
    irrigation_overflow_mm : what irrigation, not rain, overfilled [mm].

    References
    ----------
    (runoff + soak runoff + overflow caused by irrigation) / net irrigation: the same protocol, and
    US EPA WaterSense specification for weather-based controllers, both from memory.
    """
    net = within(net_mm, 0.0, _DEEPEST_MM, field="net_mm")
    return _ratio(_losses(runoff_mm, soak_runoff_mm, irrigation_overflow_mm), net)


def scheduling_efficiency(
    net_mm: ArrayLike, runoff_mm: ArrayLike, soak_runoff_mm: ArrayLike, overflow_mm: ArrayLike
) -> Numbers:
    """Return which part of the net irrigation was not lost, a fraction; below 0 where rain drained.

    Parameters
    ----------
    net_mm : net irrigation [mm]; without any there is no score (NaN).
    runoff_mm, soak_runoff_mm : what ran off, as net depths [mm].
    overflow_mm : all that left the root zone downwards [mm], of rain too: that is why few windows
        pass where it rains much (Davis and Dukes 2012).

    References
    ----------
    (net irrigation - scheduling losses) / net irrigation; losses are runoff, soak runoff and
    overflow of the root zone: the same protocol, from memory.
    """
    net = within(net_mm, 0.0, _DEEPEST_MM, field="net_mm")
    return _ratio(net - _losses(runoff_mm, soak_runoff_mm, overflow_mm), net)


def scores(account: WaterAccount, days: slice = slice(None)) -> Scores:
    """Return the scores of each zone of an account over some of its days."""

    def summed(values: Array) -> Array:
        return np.asarray(values[days].sum(axis=0), dtype=np.float64)

    lost = summed(account.runoff_mm), summed(account.soak_runoff_mm)
    net, overflow = summed(account.net_mm), summed(account.irrigation_overflow_mm)
    return Scores(
        np.asarray(adequacy(summed(account.need_mm), summed(account.deficit_mm))),
        np.asarray(excess(net, *lost, overflow)),
        np.asarray(scheduling_efficiency(net, *lost, summed(account.surplus_mm))),
    )


def short_runs(run_min: ArrayLike) -> NDArray[np.bool_]:
    """Return which runs are too short to be believed: some water, but under three minutes [min]."""
    minutes = within(run_min, 0.0, 1440.0, field="run_min")
    return (minutes > 0.0) & (minutes < SHORTEST_RUN_MIN)


def can_be_scored(weather_missing: ArrayLike) -> bool:
    """Return whether days have weather enough: of any thirty at most three missing, two in a row.

    Parameters
    ----------
    weather_missing : one truth value for each day; fewer days than thirty are one window.
    """
    missing = np.asarray(weather_missing, dtype=bool)
    if not missing.size:
        return True
    within_window, in_a_row = (
        np.convolve(missing, np.ones(days, dtype=int)).max()
        for days in (SCORED_WINDOW_DAYS, MOST_MISSING_IN_A_ROW + 1)
    )
    return bool(within_window <= MOST_MISSING_DAYS and in_a_row <= MOST_MISSING_IN_A_ROW)


def _losses(*losses_mm: ArrayLike) -> Array:
    names = ("runoff_mm", "soak_runoff_mm", "overflow_mm")
    total: Array = np.zeros(())
    for loss, name in zip(losses_mm, names, strict=True):
        total = total + within(loss, 0.0, _DEEPEST_MM, field=name)
    return total


def _ratio(part: Array, whole: Array) -> Numbers:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(whole > 0.0, part / whole, np.nan)[()]
