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


def effective_rain_mm(event_mm: ArrayLike) -> Numbers:
    """Return what one rain adds to the root zone [mm].

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
