"""The water that a place needs in a week of each month, whatever waters it."""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.domain.climate import Climate
from scheduling.domain.intervals import WEEK


def daily_need_mm(
    et0_mm_day: float, plant_factor: float, *, quality_factor: float, site_factor: float
) -> float:
    """Return the need of a day [mm]: reference need [mm] times all factors [-].

    References
    ----------
    FAO-56, eq. 58 (ETc = Kc ETo). Rain is not subtracted: it enters the water account alone.
    """
    return et0_mm_day * plant_factor * quality_factor * site_factor


def weekly_need_mm(
    climate: Climate, plant_factors: Sequence[float], *, quality_factor: float, site_factor: float
) -> tuple[float, ...]:
    """Return the need of a mean week, January to December [mm].

    Parameters
    ----------
    climate : the usual year.
    plant_factors : part of the reference need that the plants have, January to December [-].
    quality_factor, site_factor : what the wanted looks and the place do to it [-].
    """
    return tuple(
        WEEK * daily_need_mm(et0, factor, quality_factor=quality_factor, site_factor=site_factor)
        for et0, factor in zip(climate.et0_mm_day, plant_factors, strict=True)
    )
