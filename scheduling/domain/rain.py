"""How much of a rain the plants get, and how long it lasts them."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from scheduling.domain.bounds import Numbers, number_within, within

_INCH_MM: Final = 25.4
# Texas A&M AgriLife ET network, effective rainfall: of one event the first 0.1 in is lost, the rest
# counts in full up to 1 in, two thirds of what falls between 1 and 2 in, nothing beyond.
LOST_FIRST_MM: Final = 0.1 * _INCH_MM
FULL_UP_TO_MM: Final = 1.0 * _INCH_MM
PART_UP_TO_MM: Final = 2.0 * _INCH_MM
PART: Final = 2 / 3
LARGEST_EFFECTIVE_MM: Final = FULL_UP_TO_MM - LOST_FIRST_MM + PART * (PART_UP_TO_MM - FULL_UP_TO_MM)
LARGEST_EVENT_MM: Final = 2000.0  # more than the wettest day on record
LARGEST_MONTH_MM: Final = 10_000.0  # more than the wettest month on record
QUICK_RULE_TURNS_MM: Final = 75.0  # the two halves of the monthly quick rule meet there

# FAO-56, chapter 8 (from memory): a day's rain below about 0.2 ET0 dries off and is left out of the
# daily balance.
DRIES_OFF_PER_ET0: Final = 0.2
# Between all of it (FAO-56, eq. 85) and the four fifths that tests of controllers count (common
# practice): the gauge is not the garden, and some of a rain misses the roots.
DAILY_RAIN_SHARE: Final = 0.9


def effective_rain_mm(event_mm: ArrayLike) -> Numbers:
    """Return what one rain adds to the root zone [mm], by the rule for rain skips in words.

    It is for one rain after dry days. A row of days goes through `daily_effective_rain_mm`.

    Parameters
    ----------
    event_mm : rain of one event [mm], 0 to 2000; NaN (missing) gives NaN.

    References
    ----------
    Texas A&M AgriLife ET network, effective rainfall by event.
    """
    rain = within(event_mm, 0.0, LARGEST_EVENT_MM, field="event_mm", missing_ok=True)
    full = np.clip(rain, LOST_FIRST_MM, FULL_UP_TO_MM) - LOST_FIRST_MM
    part = np.clip(rain, FULL_UP_TO_MM, PART_UP_TO_MM) - FULL_UP_TO_MM
    return full + PART * part


def daily_effective_rain_mm(rain_mm: ArrayLike, et0_mm: ArrayLike) -> Numbers:
    """Return what a day's rain adds to the root zone in the daily water account [mm].

    The event rule above is for skipping waterings after one rain. Applied to each day of a wet
    spell it takes its first loss again and again, and the account drifts to the dry side.

    Parameters
    ----------
    rain_mm : rain of a day [mm], 0 to 2000; NaN (missing) gives NaN.
    et0_mm : reference evapotranspiration of that day [mm d-1], 0 to 50; NaN gives NaN.

    References
    ----------
    FAO-56, eq. 85 and the text below it.
    """
    rain = within(rain_mm, 0.0, LARGEST_EVENT_MM, field="rain_mm", missing_ok=True)
    et0 = within(et0_mm, 0.0, 50.0, field="et0_mm", missing_ok=True)
    dries_off = np.where(np.isnan(et0), np.nan, rain) <= DRIES_OFF_PER_ET0 * et0
    counted = np.where(dries_off, 0.0, DAILY_RAIN_SHARE * rain)
    return np.where(np.isnan(et0), np.nan, counted)[()]


def rain_for_effective_mm(effective_mm: float) -> float:
    """Return the smallest rain of one event that adds this much [mm].

    More than an event can add at all is answered with the event beyond which nothing counts.
    """
    wanted = number_within(effective_mm, 0.0, LARGEST_EVENT_MM, field="effective_mm")
    full = FULL_UP_TO_MM - LOST_FIRST_MM
    if wanted <= full:
        return wanted + LOST_FIRST_MM if wanted > 0 else 0.0
    return min(FULL_UP_TO_MM + (wanted - full) / PART, PART_UP_TO_MM)


def rain_skip_days(effective_mm: float, need_mm_day: float, *, store_mm: float) -> int:
    """Return for how many whole days a rain covers the need [d].

    Parameters
    ----------
    effective_mm : effective rain [mm], 0 or more.
    need_mm_day : what the plants use [mm d-1], above 0.
    store_mm : readily available water of the root zone [mm]: rain beyond it drains away.
    """
    rain = number_within(effective_mm, 0.0, LARGEST_EVENT_MM, field="effective_mm")
    store = number_within(store_mm, 0.0, 5000.0, field="store_mm")
    need = number_within(need_mm_day, 1e-6, 50.0, field="need_mm_day")
    return math.floor(min(rain, store) / need + 1e-9)


def monthly_effective_rain_mm(rain_mm: ArrayLike) -> Numbers:
    """Return what a month of rain adds to the root zone [mm], by the quick rule.

    Parameters
    ----------
    rain_mm : rain of the month [mm], 0 to 10,000; NaN (missing) gives NaN.

    References
    ----------
    0.8 P - 25 above 75 mm, else 0.6 P - 10, never below 0: Brouwer and Heibloem 1986, FAO
    irrigation water management training manual 3, from memory.
    """
    rain = within(rain_mm, 0.0, LARGEST_MONTH_MM, field="rain_mm", missing_ok=True)
    wet = rain > QUICK_RULE_TURNS_MM
    return np.maximum(np.where(wet, 0.8 * rain - 25.0, 0.6 * rain - 10.0), 0.0)[()]


def monthly_effective_rain_scs_mm(
    rain_mm: ArrayLike, need_mm: ArrayLike, net_depth_mm: ArrayLike = 3 * _INCH_MM
) -> Numbers:
    """Return what a month of rain adds to the root zone [mm], by need and depth of watering.

    Parameters
    ----------
    rain_mm : rain of the month [mm], 0 to 10,000; NaN (missing) gives NaN.
    need_mm : crop evapotranspiration of the month [mm], 0 to 1500; NaN gives NaN.
    net_depth_mm : usable soil water, or net depth of one watering [mm], 10 to 200; three inches
        make the factor 1.

    References
    ----------
    USDA-NRCS, National Engineering Handbook, part 623, chapter 2, from memory, in inches:
    Pe = SF (0.70917 P^0.82416 - 0.11556) 10^(0.02426 ETc),
    SF = 0.531747 + 0.295164 D - 0.057697 D^2 + 0.003804 D^3; not above P nor ETc.
    """
    rain = within(rain_mm, 0.0, LARGEST_MONTH_MM, field="rain_mm", missing_ok=True)
    need = within(need_mm, 0.0, 1500.0, field="need_mm", missing_ok=True)
    d = within(net_depth_mm, 10.0, 200.0, field="net_depth_mm") / _INCH_MM
    sf = 0.531747 + 0.295164 * d - 0.057697 * d**2 + 0.003804 * d**3
    p, etc = rain / _INCH_MM, need / _INCH_MM
    pe = sf * (0.70917 * p**0.82416 - 0.11556) * 10 ** (0.02426 * etc) * _INCH_MM
    return np.clip(pe, 0.0, np.minimum(rain, need))[()]
