"""Days of a zone as its plants live through them: what they need and how much they reach."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduling.domain import plants
from scheduling.domain.needs import daily_need_mm
from scheduling.domain.plant_lives import LifeStage, need_on_mm, stage_on, zone_on
from scheduling.domain.water_columns import Array
from scheduling.domain.zone_facts import ZoneFacts, plant_factor_of, readily_available_of


@dataclass(frozen=True)
class LivedDays:
    """Each day's facts of the zone, what the plants live through, and what follows from it [mm].

    `raw_mm` is readily available; `reserve_mm` lies below it and is used under stress.
    """

    dates: NDArray[np.datetime64]
    zones: tuple[ZoneFacts, ...]
    stages: tuple[LifeStage, ...]
    need_mm: Array
    raw_mm: Array
    reserve_mm: Array

    @property
    def capacity_mm(self) -> Array:
        """What the roots hold above wilting [mm]."""
        return self.raw_mm + self.reserve_mm

    def day(self, place: int) -> dt.date:
        return dt.date.fromisoformat(str(self.dates[place]))


def lived_days(zone: ZoneFacts, dates: NDArray[np.datetime64], et0_mm: Array) -> LivedDays:
    """Return the days of a zone, its new planting, rest and overseeding laid over the months.

    Parameters
    ----------
    zone : as it stands when nothing special is the matter.
    dates : the days.
    et0_mm : reference evapotranspiration of each [mm].

    References
    ----------
    FAO-56, eq. 82 and 83: total and readily available water of what the roots reach.
    """
    days: list[dt.date] = dates.astype("datetime64[D]").tolist()
    stages = tuple(stage_on(zone, day) for day in days)
    zones = _zones(zone, days, stages)
    known: dict[tuple[int, int], tuple[float, float, float]] = {}
    rows = []
    for day, lived in zip(days, zones, strict=True):
        key = id(lived), day.month
        if key not in known:
            known[key] = _of_month(lived, day.month)
        rows.append(known[key])
    per_et0, raw_mm, reserve_mm = np.array(rows, dtype=np.float64).reshape(-1, 3).T
    pairs = zip(stages, per_et0 * et0_mm, strict=True)
    need_mm = np.array([need_on_mm(stage, float(need)) for stage, need in pairs])
    return LivedDays(dates, zones, stages, need_mm, raw_mm, reserve_mm)


def _zones(
    zone: ZoneFacts, days: Sequence[dt.date], stages: Sequence[LifeStage]
) -> tuple[ZoneFacts, ...]:
    """Return the zone on each day; but for growing roots it is the same all through a stage."""
    same: dict[tuple[LifeStage, dt.date | None], ZoneFacts] = {}
    found = []
    for day, stage in zip(days, stages, strict=True):
        key = stage, day if stage is LifeStage.ESTABLISHING else None
        if key not in same:
            same[key] = zone_on(zone, day)
        found.append(same[key])
    return tuple(found)


def _of_month(zone: ZoneFacts, month: int) -> tuple[float, float, float]:
    per_et0 = daily_need_mm(
        1.0,
        plant_factor_of(zone, month),
        quality_factor=zone.quality_factor,
        site_factor=zone.site_factor,
    )
    raw_mm = readily_available_of(zone, month)
    depletion = zone.allowed_depletion or plants.default_allowed_depletion(zone.plant_type)
    return per_et0, raw_mm, raw_mm * (1.0 / depletion - 1.0)
