"""A station's daily weather, drawn together into the twelve months of a usual year."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import within
from scheduling.domain.evapotranspiration import (
    COLDEST_C,
    HOTTEST_C,
    extraterrestrial_radiation,
    hargreaves,
)
from scheduling.domain.rain import LARGEST_EVENT_MM, daily_effective_rain_mm

MONTH_DAYS: Final = (31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)  # Gregorian mean
ENOUGH_YEARS: Final = 5  # common practice: fewer years say more about themselves than the climate
HALF_A_MONTH_DAYS: Final = 15
LARGEST_ET0_MM: Final = 40.0  # more than double of what the hottest and windiest day gave

_Floats = NDArray[np.float64]
_Months = NDArray[np.int64]


@dataclass(frozen=True)
class Climate:
    """The usual year of a station; each tuple runs from January to December.

    `years_used` is the number of years that the weakest month stands on (a year counts for a month
    when half of it is known); `days_skipped` are days without a believable pair of temperatures.
    """

    et0_mm_day: tuple[float, ...]
    rain_mm: tuple[float, ...]
    effective_rain_mm: tuple[float, ...]
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    years_used: int
    days_used: int
    days_skipped: int
    first_date: dt.date
    last_date: dt.date

    @property
    def few_years(self) -> bool:
        """Whether the months stand on too few years to be called usual."""
        return self.years_used < ENOUGH_YEARS


def monthly_climate(
    dates: ArrayLike,
    *,
    tmin_c: ArrayLike,
    tmax_c: ArrayLike,
    rain_mm: ArrayLike,
    latitude_deg: float,
    et0_mm: ArrayLike | None = None,
) -> Climate:
    """Return the usual year of a station.

    A missing value is NaN and costs that day its share only. Temperatures that contradict each
    other count as missing. A day's rain counts as in the daily water account; where its ET0 is
    unknown the usual one of its month stands in. Means are taken over the days that are known, so
    a gap neither dries nor wets a month.

    Parameters
    ----------
    dates : the days, each once, in any order.
    tmin_c, tmax_c : lowest and highest temperature [degC].
    rain_mm : rain of the day [mm].
    latitude_deg : of the station [degrees].
    et0_mm : reference evapotranspiration of the day [mm], as it is kept; a day without it gets it
        from its temperatures.

    Raises
    ------
    InvalidInputError
        Code "no-weather" when a month has no usable day; for a day given twice, arrays of
        different length, or absurd values.

    References
    ----------
    Reference evapotranspiration from temperatures: FAO-56, eq. 52, day by day. Effective rain by
    day: `scheduling.domain.rain.daily_effective_rain_mm`.
    """
    days = np.asarray(dates, dtype="datetime64[D]")
    low = within(tmin_c, COLDEST_C, HOTTEST_C, field="tmin_c", missing_ok=True)
    high = within(tmax_c, COLDEST_C, HOTTEST_C, field="tmax_c", missing_ok=True)
    rain = within(rain_mm, 0.0, LARGEST_EVENT_MM, field="rain_mm", missing_ok=True)
    kept = _kept_et0(et0_mm, days)
    _refuse_crooked_days(days, tmin_c=low, tmax_c=high, rain_mm=rain, et0_mm=kept)

    usable = low <= high  # false where one of them is missing
    days_used, low, high = days[usable], low[usable], high[usable]
    month = _month_index(days_used)
    et0_days = kept.copy()
    et0_days[usable] = _et0_of(kept[usable], low, high, days_used, latitude_deg)
    et0 = _means(et0_days[usable], month)
    rainy = ~np.isnan(rain)
    rain_month = _month_index(days[rainy])
    stood_in = np.where(np.isnan(et0_days[rainy]), np.array(et0)[rain_month], et0_days[rainy])
    return Climate(
        et0_mm_day=et0,
        rain_mm=_monthly_totals(rain[rainy], rain_month),
        effective_rain_mm=_monthly_totals(
            daily_effective_rain_mm(rain[rainy], stood_in), rain_month
        ),
        tmin_c=_means(low, month),
        tmax_c=_means(high, month),
        years_used=_years_of_weakest_month(days_used),
        days_used=int(usable.sum()),
        days_skipped=int((~usable).sum()),
        first_date=days_used.min().item(),
        last_date=days_used.max().item(),
    )


def _kept_et0(et0_mm: ArrayLike | None, days: NDArray[np.datetime64]) -> _Floats:
    if et0_mm is None:
        return np.full(days.shape, np.nan)
    return within(et0_mm, 0.0, LARGEST_ET0_MM, field="et0_mm", missing_ok=True)


def _et0_of(
    kept: _Floats, low: _Floats, high: _Floats, days: NDArray[np.datetime64], latitude_deg: float
) -> _Floats:
    radiation = extraterrestrial_radiation(latitude_deg, _day_of_year(days))
    return np.where(np.isnan(kept), hargreaves(low, high, radiation), kept)


def _refuse_crooked_days(days: NDArray[np.datetime64], **columns: _Floats) -> None:
    for field, values in columns.items():
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


def _means(values: ArrayLike, month: _Months) -> tuple[float, ...]:
    counts = np.bincount(month, minlength=12)
    if not counts.all():
        raise InvalidInputError(
            "The station has no usable weather"
            + (f" in month {int(np.argmin(counts)) + 1}." if counts.any() else "."),
            field="dates", code="no-weather",
            remedy="Import more years, or choose another station.",
        )  # fmt: skip
    sums = np.bincount(month, weights=np.asarray(values), minlength=12)
    return tuple((sums / counts).tolist())


def _monthly_totals(daily_mm: ArrayLike, month: _Months) -> tuple[float, ...]:
    means = _means(daily_mm, month)
    return tuple(mean * length for mean, length in zip(means, MONTH_DAYS, strict=True))


def _years_of_weakest_month(days: NDArray[np.datetime64]) -> int:
    months = days.astype("datetime64[M]").astype(np.int64)
    first = months.min() // 12 * 12
    counts = np.bincount(months - first, minlength=(months.max() // 12 + 1) * 12 - first)
    return int((counts.reshape(-1, 12) >= HALF_A_MONTH_DAYS).sum(axis=0).min())


def _month_index(days: NDArray[np.datetime64]) -> _Months:
    return days.astype("datetime64[M]").astype(np.int64) % 12


def _day_of_year(days: NDArray[np.datetime64]) -> _Months:
    elapsed: _Months = (days - days.astype("datetime64[Y]")).astype(np.int64)
    return elapsed + np.int64(1)
