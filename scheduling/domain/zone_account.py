"""The water account of one zone: its plants, its soil, its weather and what was put on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduling.domain.lived_days import LivedDays, lived_days
from scheduling.domain.program_waterings import DatedWaterings
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.usual_weather import WholeDays
from scheduling.domain.water_balance import RootZone, WaterAccount, Waterings, simulate
from scheduling.domain.water_columns import Array
from scheduling.domain.zone_facts import ZoneFacts


@dataclass(frozen=True)
class ZoneWater:
    """The account of a zone, and the days of its plants that it stands on."""

    account: WaterAccount
    lived: LivedDays

    @property
    def limit_mm(self) -> Array:
        """Return the store at which the readily available water is used up [mm]."""
        return self.lived.reserve_mm


def zone_water(
    zone: ZoneFacts, days: WholeDays, waterings: DatedWaterings, *, net_fraction: float
) -> ZoneWater:
    """Return the daily account of a zone, full on its first day.

    Parameters
    ----------
    zone : plants, soil and site; its new planting, rest and overseeding count on each day.
    days : the weather.
    waterings : what was put down on the same days.
    net_fraction : what reaches the roots evenly, 0.05 to 1: 1 / run-time multiplier.

    References
    ----------
    FAO-56, eq. 82 to 85: what is readily available of what roots reach, and stress below it.
    """
    lived = lived_days(zone, days.dates, days.et0_mm)
    rain_mm = np.asarray(daily_effective_rain_mm(days.rain_mm, days.et0_mm))
    return ZoneWater(lived_account(lived, rain_mm, waterings, net_fraction=net_fraction), lived)


def lived_account(
    lived: LivedDays, effective_rain_mm: Array, waterings: DatedWaterings, *, net_fraction: float
) -> WaterAccount:
    """Return the account of days that a zone has lived; see `zone_water` [mm]."""
    return simulate(
        _column(lived.need_mm),
        _column(effective_rain_mm),
        Waterings(
            gross_mm=_column(waterings.gross_mm),
            net_fraction=net_fraction,
            runoff_mm=_column(waterings.runoff_mm),
            soak_runoff_mm=_column(waterings.soak_runoff_mm),
        ),
        RootZone(storage_mm=_column(lived.raw_mm), reserve_mm=_column(lived.reserve_mm)),
    )


def _column(values: Array) -> Array:
    return values[:, np.newaxis]
