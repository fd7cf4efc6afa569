"""The water account of one zone: its plants, its soil, its weather and what was put on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduling.domain import plants
from scheduling.domain.needs import daily_need_mm
from scheduling.domain.new_planting import establishing_root_depth_mm
from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.water_balance import RootZone, WaterAccount, Waterings, simulate
from scheduling.domain.water_columns import Array
from scheduling.domain.zone_facts import ZoneFacts, plant_factor_of, readily_available_of

_MONTHS = range(1, 13)


@dataclass(frozen=True)
class AccountDays:
    """Days in a row with their ET0 and rain, none of them missing [mm]."""

    dates: NDArray[np.datetime64]
    et0_mm: Array
    rain_mm: Array


@dataclass(frozen=True)
class ZoneWater:
    """The account of a zone, and the part of its capacity that is readily available [mm]."""

    account: WaterAccount
    readily_available_mm: Array

    @property
    def limit_mm(self) -> Array:
        """Return the store at which the readily available water is used up [mm]."""
        limit: Array = self.account.capacity_mm[:, 0] - self.readily_available_mm
        return limit


def zone_water(
    zone: ZoneFacts,
    days: AccountDays,
    waterings: DatedWaterings,
    *,
    net_fraction: float,
    planting_date: date | None = None,
) -> ZoneWater:
    """Return the daily account of a zone, full on its first day.

    Parameters
    ----------
    zone : plants, soil and site.
    days : the weather.
    waterings : what was put down on the same days.
    net_fraction : what reaches the roots evenly, 0.05 to 1: 1 / run-time multiplier.
    planting_date : the roots of a planting grow from there.

    References
    ----------
    FAO-56, eq. 82 to 85: what is readily available of what roots reach, and stress below it.
    """
    month = days.dates.astype("datetime64[M]").astype(np.int64) % 12
    readily = _readily_available_mm(zone, days.dates, month, planting_date)
    depletion = zone.allowed_depletion or plants.default_allowed_depletion(zone.plant_type)
    account = simulate(
        _column(days.et0_mm * _need_per_et0(zone)[month]),
        _column(np.asarray(daily_effective_rain_mm(days.rain_mm, days.et0_mm))),
        Waterings(
            gross_mm=_column(waterings.gross_mm),
            net_fraction=net_fraction,
            runoff_mm=_column(waterings.runoff_mm),
            soak_runoff_mm=_column(waterings.soak_runoff_mm),
        ),
        RootZone(
            storage_mm=_column(readily), reserve_mm=_column(readily * (1.0 / depletion - 1.0))
        ),
    )
    return ZoneWater(account, readily)


def _need_per_et0(zone: ZoneFacts) -> Array:
    return np.array(
        [
            daily_need_mm(
                1.0,
                plant_factor_of(zone, month),
                quality_factor=zone.quality_factor,
                site_factor=zone.site_factor,
            )
            for month in _MONTHS
        ]
    )


def _readily_available_mm(
    zone: ZoneFacts,
    dates: NDArray[np.datetime64],
    month: NDArray[np.int64],
    planting_date: date | None,
) -> Array:
    established = np.array([readily_available_of(zone, each) for each in _MONTHS])[month]
    if planting_date is None:
        return established
    full_mm = np.array(zone.root_depths_mm or [plants.default_root_depth_mm(zone.plant_type)] * 12)
    since = (dates - np.datetime64(planting_date, "D")).astype(np.int64)
    reached = establishing_root_depth_mm(zone.plant_type, full_mm[month], since)
    readily: Array = established * reached / full_mm[month]
    return readily


def _column(values: Array) -> Array:
    return values[:, np.newaxis]
