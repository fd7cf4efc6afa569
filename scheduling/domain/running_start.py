"""Where a running plan starts: what the roots hold, and how sure that is."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np

from scheduling.domain.lived_days import lived_days
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.running_days import PastDays
from scheduling.domain.water_balance import WaterAccount
from scheduling.domain.zone_account import lived_account
from scheduling.domain.zone_facts import ZoneFacts


@dataclass(frozen=True, kw_only=True)
class StartState:
    """What the roots hold on the morning of the first day [mm], counted from wilting.

    reset_on : the newest day on which rain alone filled the roots; what was before it matters not.
    assumed_waterings : days since then on which a setting is taken to have run; nobody saw it.
    days_usual : days since then that nobody has weather for.
    days : how long the account is since then [d].
    """

    stored_mm: float
    limit_mm: float
    capacity_mm: float
    reset_on: dt.date | None
    assumed_waterings: int
    days_usual: int
    days: int
    days_since_watering: int | None

    @property
    def is_assumed(self) -> bool:
        """Whether any watering in it was assumed and not seen."""
        return self.assumed_waterings > 0


def start_state(zone: ZoneFacts, past: PastDays, *, net_fraction: float) -> StartState:
    """Return what the roots hold after the past days, full before the first of them.

    Parameters
    ----------
    zone : see there; its new planting, rest and overseeding count on each day.
    past : the days up to yesterday.
    net_fraction : net over gross depth, 0.05 to 1.

    References
    ----------
    FAO-56, eq. 85 and 84 (`water_balance.simulate`).
    """
    lived = lived_days(zone, past.dates, past.et0_mm)
    rain_mm = np.asarray(daily_effective_rain_mm(past.rain_mm, past.et0_mm))
    account = lived_account(lived, rain_mm, past.waterings, net_fraction=net_fraction)
    since = _day_after_reset(account)
    watered = np.flatnonzero(past.waterings.gross_mm > 0.0)
    return StartState(
        stored_mm=float(account.stored_mm[-1, 0]),
        limit_mm=float(lived.reserve_mm[-1]),
        capacity_mm=float(lived.capacity_mm[-1]),
        reset_on=lived.day(since - 1) if since else None,
        assumed_waterings=int((watered >= since).sum()),
        days_usual=int(past.is_usual[since:].sum()),
        days=past.dates.size - since,
        days_since_watering=past.dates.size - int(watered[-1]) if watered.size else None,
    )


def _day_after_reset(account: WaterAccount) -> int:
    """Return the place of the day after the newest rain that overfilled the roots, 0 without."""
    soaked = np.flatnonzero(account.rain_overflow_mm[:, 0] > 0.0)
    return int(soaked[-1]) + 1 if soaked.size else 0
