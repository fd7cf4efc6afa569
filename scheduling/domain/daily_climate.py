"""A station's usual year day by day: what is usual, what a low and what a high day is."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import within
from scheduling.domain.climate import ENOUGH_YEARS, LARGEST_ET0_MM
from scheduling.domain.rain import LARGEST_EVENT_MM, daily_effective_rain_mm

DAYS: Final = 366
LEAP_DAY_SHARE: Final = 0.2425  # how often a Gregorian year has a 29 February
ET0_HALF_WINDOW_DAYS: Final = 7  # common practice: two weeks of a season are alike
RAIN_HALF_WINDOW_DAYS: Final = 15  # common practice: rain needs a month to show what is usual
LEAST_RAIN_SHARE: Final = 0.5  # of a window: a mean of less says little of its month
LEAST_YEAR_SHARE: Final = 1 / 3  # of a window: with less a year does not count for the day
LOW_PERCENT: Final = 20.0
HIGH_PERCENT: Final = 80.0
_LEAP_SLOT: Final = 59  # 29 February, counted from 0 in a year of 366 days
_MOST_YEARS: Final = 500

_Floats = NDArray[np.float64]


@dataclass(frozen=True)
class UsualDays:
    """One quantity [mm/day] on the 366 days from 1 January; NaN where nothing is known."""

    mean: _Floats
    low: _Floats
    high: _Floats

    @property
    def annual_mm(self) -> float:
        """Sum of the means over a mean Gregorian year [mm]; NaN when a day is unknown."""
        weights = np.ones(DAYS)
        weights[_LEAP_SLOT] = LEAP_DAY_SHARE
        return float((self.mean * weights).sum())


@dataclass(frozen=True)
class DailyClimate:
    """The usual year of a station by day.

    `et0.low` and `et0.high` are exceeded by four and by one of five *days* of the season.
    `effective_rain.low` and `.high` are those of the dry and of the wet *year* in five: rain of
    single days is mostly none, so each year gives the mean of the month around the day.
    `years_used` is the number of years that the weakest day of the year stands on.
    """

    et0: UsualDays
    effective_rain: UsualDays
    years_used: int
    first_date: dt.date
    last_date: dt.date

    @property
    def few_years(self) -> bool:
        """Whether the days stand on too few years to be called usual."""
        return self.years_used < ENOUGH_YEARS


def daily_climate(dates: ArrayLike, *, et0_mm: ArrayLike, rain_mm: ArrayLike) -> DailyClimate:
    """Return the usual year of a station by day.

    1. The days are laid out as years of 366, a common year without its 29 February.
    2. ET0: all days of all years within 7 days of a day of the year are one sample; its mean and
       its 20th and 80th percentile are the usual, low and high ET0.
    3. Effective rain: each year has the mean of the 31 days around the day, if half of them are
       known; mean, 20th and 80th percentile of those years are usual, dry and wet. A day's rain
       counts as in the daily water account; where its ET0 is missing the usual one of the day
       stands in, and without any the day counts as unknown.
    4. A missing value is NaN and costs that day its share only. Windows run on over the turn of
       the year.

    Parameters
    ----------
    dates : the days, each once, in any order; they may span at most 500 years.
    et0_mm : reference evapotranspiration of the day [mm], 0 to 40.
    rain_mm : rain of the day [mm], 0 to 2000.

    Raises
    ------
    InvalidInputError
        Code "no-weather" without any value; for a day given twice, arrays of different length, or
        values out of range.

    References
    ----------
    Effective rain by day: `scheduling.domain.rain.daily_effective_rain_mm`. Percentiles by
    linear interpolation between order statistics (NumPy's default). Windows and percentiles: common
    practice.
    """
    days = np.asarray(dates, dtype="datetime64[D]")
    et0 = within(et0_mm, 0.0, LARGEST_ET0_MM, field="et0_mm", missing_ok=True)
    rain = within(rain_mm, 0.0, LARGEST_EVENT_MM, field="rain_mm", missing_ok=True)
    _refuse_crooked_days(days, et0, rain)
    _refuse_nothing(days, et0, rain)
    known_days = days[~np.isnan(et0)]
    et0_years = _around(_by_year(days, et0), ET0_HALF_WINDOW_DAYS)
    usual_et0 = _usual(et0_years.transpose(1, 0, 2).reshape(DAYS, -1))
    stood_in = np.where(np.isnan(et0), usual_et0.mean[slot_of_day(days)], et0)
    effective = np.asarray(daily_effective_rain_mm(rain, stood_in))
    rain_years = _around(_by_year(days, effective), RAIN_HALF_WINDOW_DAYS)
    return DailyClimate(
        et0=usual_et0,
        effective_rain=_usual(_window_means(rain_years).T),
        years_used=int((_known_share(et0_years) >= LEAST_YEAR_SHARE).sum(axis=0).min()),
        first_date=known_days.min().item() if known_days.size else days.min().item(),
        last_date=known_days.max().item() if known_days.size else days.max().item(),
    )


def percentile_of_rows(sample: _Floats, percent: float) -> _Floats:
    """Return a percentile of each row over its known values; NaN where a row has none.

    As `numpy.nanpercentile`, for all rows at once.
    """
    ordered = np.sort(sample, axis=1)  # NaN last
    count = (~np.isnan(ordered)).sum(axis=1)
    place = np.maximum(count - 1, 0) * (percent / 100)
    below = np.floor(place).astype(np.int64)
    above = np.minimum(below + 1, np.maximum(count - 1, 0))
    rows = np.arange(len(ordered))
    low, high = ordered[rows, below], ordered[rows, above]
    return np.asarray(low + (high - low) * (place - below))


def slot_of_day(days: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Return the place of each day in a year of 366 days, from 0; 1 March is always 60."""
    year = days.astype("datetime64[Y]")
    elapsed = (days - year).astype(np.int64)
    has_leap_day = (year + 1).astype("datetime64[D]") - year.astype("datetime64[D]") == DAYS
    late = (elapsed >= _LEAP_SLOT) & ~has_leap_day
    return np.asarray(elapsed + late, dtype=np.int64)


def _by_year(days: NDArray[np.datetime64], values: _Floats) -> _Floats:
    """Lay the values out as one line of whole years of 366 days, NaN where nothing is known.

    A year before and one after stand empty, so that the windows of their days meet the first and
    the last days of the record.
    """
    year = days.astype("datetime64[Y]").astype(np.int64)
    first = int(year.min()) - 1
    line = np.full((int(year.max()) - first + 2) * DAYS, np.nan)
    line[(year - first) * DAYS + slot_of_day(days)] = values
    return line


def _around(line: _Floats, half: int) -> _Floats:
    """Return, for each year and day of the year, the days around it."""
    edge = np.full(half, np.nan)
    padded = np.concatenate([edge, line, edge])
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    return windows.reshape(-1, DAYS, 2 * half + 1)


def _window_means(years: _Floats) -> _Floats:
    known = (~np.isnan(years)).sum(axis=2)
    sums = np.nansum(years, axis=2)
    is_enough = _known_share(years) >= LEAST_RAIN_SHARE
    return np.where(is_enough, sums / np.maximum(known, 1), np.nan)


def _known_share(years: _Floats) -> _Floats:
    return np.asarray((~np.isnan(years)).mean(axis=2))


def _usual(sample: _Floats) -> UsualDays:
    known = (~np.isnan(sample)).sum(axis=1)
    mean = np.where(known > 0, np.nansum(sample, axis=1) / np.maximum(known, 1), np.nan)
    low, high = (percentile_of_rows(sample, percent) for percent in (LOW_PERCENT, HIGH_PERCENT))
    return UsualDays(mean=mean, low=low, high=high)


def _refuse_crooked_days(days: NDArray[np.datetime64], *columns: _Floats) -> None:
    for field, values in zip(("et0_mm", "rain_mm"), columns, strict=True):
        if values.shape != days.shape:
            raise InvalidInputError(
                f"{field} has {values.size} values for {days.size} days.",
                field=field, code="length", remedy="Give one value a day, NaN where none is known.",
            )  # fmt: skip
    if np.isnat(days).any() or np.unique(days).size < days.size:
        raise InvalidInputError(
            "A date is missing or given twice.",
            field="dates", code="dates", remedy="Give each day once.",
        )  # fmt: skip
    if days.size and (days.max() - days.min()).astype(np.int64) > _MOST_YEARS * DAYS:
        raise InvalidInputError(
            f"The days span more than {_MOST_YEARS} years.",
            field="dates", code="dates", remedy="Leave out the days that cannot be right.",
        )  # fmt: skip


def _refuse_nothing(days: NDArray[np.datetime64], et0: _Floats, rain: _Floats) -> None:
    if not days.size or (np.isnan(et0).all() and np.isnan(rain).all()):
        raise InvalidInputError(
            "The station has no usable weather.",
            field="dates", code="no-weather",
            remedy="Import more years, or choose another station.",
        )  # fmt: skip
