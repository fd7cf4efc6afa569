"""What the weather of these days makes of the plans, for many zones at once.

Each night every zone is looked at: what it needs now, how many days apart that is, how many percent
of its month, and when it is due next. The plan of the month stays; whoever tells a client of a
change looks at these numbers first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.refill import (
    USED_UP,
    RefillRule,
    RefillWeather,
    RefillZones,
    Truths,
    refill_when_due,
)
from scheduling.domain.water_columns import Array

PAST_DAYS: Final = 45  # common practice: six weeks forget what the roots held before them
AHEAD_DAYS: Final = 14
NEAR_DAYS: Final = 7
"""The need of now is the mean of so many days before and as many ahead."""

PERCENT_STEP: Final = 5
MOST_PERCENT: Final = 300
NOT_DUE: Final = -1
_LONGEST_GAP_DAYS: Final = 31


@dataclass(frozen=True, kw_only=True)
class NightWeather:
    """PAST_DAYS days up to yesterday and AHEAD_DAYS from today on, one weather for all zones [mm].

    No value is missing: gaps hold the usual ET0 and no rain. `forecast_rain_mm` is of the days
    ahead; it postpones waterings and never fills the roots.
    """

    et0_mm: Array
    rain_mm: Array
    forecast_rain_mm: Array

    def __post_init__(self) -> None:
        shapes = self.et0_mm.shape, self.rain_mm.shape, self.forecast_rain_mm.shape
        if shapes != ((PAST_DAYS + AHEAD_DAYS,), (PAST_DAYS,), (AHEAD_DAYS,)):
            raise InvalidInputError(
                f"The weather has the shapes {shapes}.",
                field="et0_mm", code="shapes-differ",
                remedy=f"Give ET0 of {PAST_DAYS + AHEAD_DAYS} days, rain of {PAST_DAYS}, forecast"
                f" rain of {AHEAD_DAYS}.",
            )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class NightZones:
    """What the plans of the month say, one value for each zone.

    raw_mm : readily available water [mm].
    need_per_et0 : need over ET0 [-]; 0 where nothing is watered this month.
    usual_et0_mm : ET0 of a usual day of the month [mm d-1].
    net_mm, gross_mm : of one watering day [mm].
    least_days, most_days : from one watering to the next, as the zone allows [d].
    may_water : whether rules let the zone be watered on a day; PAST_DAYS + AHEAD_DAYS x zones.
    """

    raw_mm: Array
    need_per_et0: Array
    usual_et0_mm: Array
    net_mm: Array
    gross_mm: Array
    least_days: Array
    most_days: Array
    may_water: Truths | bool = True


@dataclass(frozen=True)
class NightOutlook:
    """What came of it, one value for each zone.

    need_mm_day : need of these days [mm d-1].
    days_between : days apart that the roots bear at that need [d]; 0 where nothing is watered.
    percent : of the need of a usual day of the month, in steps of five.
    next_in_days : 0 is today; -1 is not within the days ahead.
    """

    need_mm_day: Array
    days_between: NDArray[np.int64]
    percent: NDArray[np.int64]
    next_in_days: NDArray[np.int64]


def night_outlook(
    zones: NightZones, weather: NightWeather, rule: RefillRule = USED_UP
) -> NightOutlook:
    """Return what the weather of these days makes of the plans.

    1. The need of now: the mean ET0 of the week before and the week ahead, by the factor of the
       month.
    2. Days between: readily available water over that need, rounded down, within what the zone
       allows (design of the plan: the minutes stay, the days move).
    3. Next watering: the account of the last weeks under the zone's own waterings, then the days
       ahead; a forecast rain postpones it within what the roots hold. Before as ahead, a zone is
       watered only on days on which the rules let it be.

    Raises
    ------
    InvalidInputError
        For weather of another length, missing values, or values out of range.
    """
    near = slice(PAST_DAYS - NEAR_DAYS, PAST_DAYS + NEAR_DAYS)
    et0_mm = float(weather.et0_mm[near].mean())
    need_mm = zones.need_per_et0 * et0_mm
    is_watered = (need_mm > 0.0) & (zones.net_mm > 0.0)
    return NightOutlook(
        need_mm_day=need_mm,
        days_between=np.where(is_watered, _days_between(zones, need_mm), 0),
        percent=_percent(et0_mm, zones.usual_et0_mm, is_watered),
        next_in_days=np.where(is_watered, _next_in_days(zones, weather, rule), NOT_DUE),
    )


def _days_between(zones: NightZones, need_mm: Array) -> NDArray[np.int64]:
    with np.errstate(divide="ignore", invalid="ignore"):
        lasts = np.where(need_mm > 0.0, np.floor(zones.raw_mm / need_mm + 1e-9), _LONGEST_GAP_DAYS)
    most = np.minimum(zones.most_days, _LONGEST_GAP_DAYS)
    return np.clip(lasts, zones.least_days, np.maximum(most, zones.least_days)).astype(np.int64)


def _percent(et0_mm: float, usual_mm: Array, is_watered: NDArray[np.bool_]) -> NDArray[np.int64]:
    share = np.divide(et0_mm, usual_mm, out=np.ones_like(usual_mm), where=usual_mm > 0.0)
    steps = np.rint(100.0 * share / PERCENT_STEP) * PERCENT_STEP
    return np.where(is_watered, np.minimum(steps, MOST_PERCENT), 0).astype(np.int64)


def _next_in_days(zones: NightZones, weather: NightWeather, rule: RefillRule) -> NDArray[np.int64]:
    et0 = weather.et0_mm[:, np.newaxis]
    rain = np.asarray(daily_effective_rain_mm(weather.rain_mm, weather.et0_mm[:PAST_DAYS]))
    nothing_ahead, nothing_before = np.zeros(AHEAD_DAYS), np.zeros(PAST_DAYS)
    refills = refill_when_due(
        RefillWeather(
            need_mm=et0 * zones.need_per_et0,
            effective_rain_mm=np.concatenate([rain, nothing_ahead])[:, np.newaxis],
            forecast_rain_mm=np.concatenate([nothing_before, weather.forecast_rain_mm])[
                :, np.newaxis
            ],
        ),
        RefillZones(
            storage_mm=np.maximum(zones.raw_mm, zones.net_mm),
            net_fraction=np.divide(
                zones.net_mm, zones.gross_mm, out=np.ones_like(zones.net_mm),
                where=zones.gross_mm > 0.0,
            ),
            day_limit_mm=zones.gross_mm,
            min_days_between=zones.least_days,
            max_days_between=np.maximum(zones.most_days, zones.least_days),
            may_water=zones.may_water,
        ),
        rule,
    )  # fmt: skip
    is_due = refills.net_mm[PAST_DAYS:] > 0.0
    return np.where(is_due.any(axis=0), is_due.argmax(axis=0), NOT_DUE)
