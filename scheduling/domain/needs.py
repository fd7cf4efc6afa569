"""The water that a place needs in a week of each month, whatever waters it."""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.domain.climate import Climate
from scheduling.domain.intervals import WEEK


def weekly_need_mm(
    climate: Climate, plant_factors: Sequence[float], *, quality_factor: float, site_factor: float
) -> tuple[float, ...]:
    """Return the need of a mean week, January to December [mm].

    Parameters
    ----------
    climate : the usual year.
    plant_factors : part of the reference need that the plants have, January to December [-].
    quality_factor, site_factor : what the wanted looks and the place do to it [-].

    References
    ----------
    Need = reference evapotranspiration x factors, as in `zone_plan`; FAO-56, eq. 58 (ETc = Kc
    ETo). Rain is not subtracted.
    """
    return tuple(
        et0 * factor * quality_factor * site_factor * WEEK
        for et0, factor in zip(climate.et0_mm_day, plant_factors, strict=True)
    )
