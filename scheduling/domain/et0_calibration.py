"""Bringing temperature-only ET0 to the Penman-Monteith one where a station has days with both."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import Numbers, within

ENOUGH_DAYS: Final = 90  # common practice: a season; fewer days say more about their weather
BLOCK_DAYS: Final = 10  # neighbouring days are alike, so whole blocks are left out of a fit
FOLDS: Final = 3
HIGHEST_ET0_MM: Final = 50.0
_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LocalCalibration:
    """Calibrated ET0 = `offset_mm` + `slope` x Hargreaves ET0, and how well that does.

    Bias is the mean of the estimate less Penman-Monteith, RMSE the root of the mean squared
    difference [mm d-1]; "after" is measured on days that the fit did not see. `months` are the
    calendar months of the days (none when no dates were given): beyond them it is a guess.
    """

    slope: float
    offset_mm: float
    days: int
    bias_before_mm: float
    rmse_before_mm: float
    bias_after_mm: float
    rmse_after_mm: float
    first_date: dt.date | None
    last_date: dt.date | None
    months: tuple[int, ...]

    @property
    def helps(self) -> bool:
        """Whether days that the fit did not see come out better with it than without."""
        return self.rmse_after_mm < self.rmse_before_mm

    @property
    def season(self) -> str:
        """The months that it stands on, in words; empty when no dates were given."""
        if len(self.months) == len(_MONTHS):
            return "the whole year"
        return ", ".join(_MONTHS[month - 1] for month in self.months)

    def apply(self, hargreaves_mm: ArrayLike) -> Numbers:
        """Return the calibrated ET0 of days [mm d-1]."""
        return calibrated(hargreaves_mm, self.slope, self.offset_mm)


def calibrated(hargreaves_mm: ArrayLike, slope: ArrayLike, offset_mm: ArrayLike) -> Numbers:
    """Return Hargreaves ET0 brought to what Penman-Monteith gives there [mm d-1], never negative.

    Parameters
    ----------
    hargreaves_mm : [mm d-1], 0 to 50; NaN (missing) gives NaN.
    slope, offset_mm : of the station; NaN where it has none gives NaN.

    References
    ----------
    FAO-56, chapter 3, the regression under eq. 52: ETo = a + b ETo by eq. 52.
    """
    by_temperature = within(
        hargreaves_mm, 0.0, HIGHEST_ET0_MM, field="hargreaves_mm", missing_ok=True
    )
    et0 = np.asarray(offset_mm) + np.asarray(slope) * by_temperature
    return np.maximum(et0, 0.0)


def local_calibration(
    hargreaves_mm: ArrayLike, penman_monteith_mm: ArrayLike, *, dates: ArrayLike | None = None
) -> LocalCalibration:
    """Fit a station's Hargreaves ET0 to its Penman-Monteith one by least squares.

    1. Days without both are left out; the rest are put in order of time.
    2. Slope and offset are fitted on all of them.
    3. The error after is measured by leaving out every third block of ten days in turn, and
       estimating it from the fit of the others.

    Parameters
    ----------
    hargreaves_mm, penman_monteith_mm : of the same days [mm d-1], 0 to 50; NaN is missing.
    dates : the days, each once; without them the days are taken to be in order of time.

    Raises
    ------
    InvalidInputError
        Code "too-few-days" below 90 days with both; "no-relation" when the one does not grow with
        the other; "length" for columns of different length; "dates" for a day given twice.

    References
    ----------
    FAO-56, chapter 3, under eq. 52: calibrate by ETo = a + b ETo by eq. 52.
    """
    low = within(hargreaves_mm, 0.0, HIGHEST_ET0_MM, field="hargreaves_mm", missing_ok=True)
    full = within(
        penman_monteith_mm, 0.0, HIGHEST_ET0_MM, field="penman_monteith_mm", missing_ok=True
    )
    days = None if dates is None else np.asarray(dates, dtype="datetime64[D]")
    _refuse_crooked(low, full, days)
    chosen = _known_in_order(low, full, days)
    _refuse_too_few(chosen.size)
    known_days = np.array([], dtype="datetime64[D]") if days is None else days[chosen]
    return _fitted(low[chosen], full[chosen], known_days)


def _fitted(low: _Floats, full: _Floats, days: NDArray[np.datetime64]) -> LocalCalibration:
    slope, offset = _line(low, full)
    unseen = _estimates_unseen(low, full) - full
    return LocalCalibration(
        slope=slope,
        offset_mm=offset,
        days=low.size,
        bias_before_mm=float(np.mean(low - full)),
        rmse_before_mm=_root_mean_square(low - full),
        bias_after_mm=float(np.mean(unseen)),
        rmse_after_mm=_root_mean_square(unseen),
        first_date=days[0].item() if days.size else None,
        last_date=days[-1].item() if days.size else None,
        months=_months_of(days),
    )


def _known_in_order(
    low: _Floats, full: _Floats, days: NDArray[np.datetime64] | None
) -> NDArray[np.intp]:
    known: NDArray[np.intp] = np.flatnonzero(~np.isnan(low) & ~np.isnan(full))
    return known if days is None else known[np.argsort(days[known])]


def _line(low: _Floats, full: _Floats) -> tuple[float, float]:
    deviation = low - low.mean()
    spread = float(deviation @ deviation)
    slope = float(deviation @ (full - full.mean())) / spread if spread > 0 else 0.0
    if slope <= 0:
        raise InvalidInputError(
            "Penman-Monteith ET0 does not grow with the Hargreaves ET0 of the same days.",
            field="penman_monteith_mm", code="no-relation",
            remedy="Check the units of humidity, wind and sunshine, or take more of the year.",
        )  # fmt: skip
    return slope, float(full.mean() - slope * low.mean())


def _estimates_unseen(low: _Floats, full: _Floats) -> _Floats:
    fold = np.arange(low.size) // BLOCK_DAYS % FOLDS
    estimates = np.empty_like(low)
    for left_out in range(FOLDS):
        seen = fold != left_out
        estimates[~seen] = calibrated(low[~seen], *_line(low[seen], full[seen]))
    return estimates


def _root_mean_square(differences: _Floats) -> float:
    return float(np.sqrt(np.mean(np.square(differences))))


def _months_of(days: NDArray[np.datetime64]) -> tuple[int, ...]:
    return tuple(np.unique(days.astype("datetime64[M]").astype(np.int64) % 12 + 1).tolist())


def _refuse_crooked(low: _Floats, full: _Floats, days: NDArray[np.datetime64] | None) -> None:
    if low.ndim != 1 or full.shape != low.shape or (days is not None and days.shape != low.shape):
        raise InvalidInputError(
            f"The columns do not match: {low.size} days by Hargreaves, {full.size} in full.",
            field="penman_monteith_mm", code="length",
            remedy="Give one value a day in each, NaN where none is known.",
        )  # fmt: skip
    if days is not None and (np.isnat(days).any() or np.unique(days).size < days.size):
        raise InvalidInputError(
            "A date is missing or given twice.",
            field="dates", code="dates", remedy="Give each day once.",
        )  # fmt: skip


def _refuse_too_few(days: int) -> None:
    if days < ENOUGH_DAYS:
        raise InvalidInputError(
            f"Only {days} days have both; a calibration takes at least {ENOUGH_DAYS}.",
            field="penman_monteith_mm", code="too-few-days",
            remedy="Import more days with humidity and wind, best of a whole year.",
        )  # fmt: skip
