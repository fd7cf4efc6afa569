"""Past years once more: what each way of watering would have done to each zone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from properties.domain.errors import InvalidInputError
from scheduling.domain.lived_days import LivedDays, lived_days
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.refill import RefillRule, RefillWeather, RefillZones, refill_when_due
from scheduling.domain.replay_limits import day_limits
from scheduling.domain.replay_schedules import (
    IdealSchedule,
    ReplayCase,
    ReplayDays,
    ReplayZone,
    set_waterings,
)
from scheduling.domain.replay_totals import Totals, period_starts, totals_of
from scheduling.domain.water_balance import RootZone, WaterAccount, Waterings, simulate
from scheduling.domain.water_columns import Array
from scheduling.domain.water_histories import Histories, distinct_histories
from scheduling.domain.zone_facts import ZoneFacts

_NEVER: Final = 366


@dataclass(frozen=True)
class Columns:
    """What makes the water history of each case, days x cases."""

    need_mm: Array
    readily_available_mm: Array
    reserve_mm: Array
    gross_mm: Array
    runoff_mm: Array
    soak_runoff_mm: Array
    net_fraction: Array


@dataclass(frozen=True)
class Replay:
    """The totals of each case by calendar year and by month, and its water day by day.

    `first_year` counts the rows of `years`; `months` has twelve rows a year from the month of the
    first day on. `account` holds one column for each distinct history.
    """

    first_year: int
    years: Totals
    months: Totals
    gross_mm: Array
    histories: Histories
    account: WaterAccount


def replay(cases: Sequence[ReplayCase], days: ReplayDays) -> Replay:
    """Run the water account of every case through the days.

    1. Each day of each case gets its need, what roots can hold, and what was put down: by the
       schedule that is set, or as the account asks for it.
    2. Cases that live through the same are computed once, all others side by side. The store is
       full on the first day and carried on from year to year.
    3. The account is summed by calendar year and by month.

    Parameters
    ----------
    cases : zones, each with its schedule; at least one.
    days : whole years of weather, or fewer days for a hand check.

    Raises
    ------
    InvalidInputError
        Without a case.

    References
    ----------
    FAO-56, eq. 82 to 85, by way of `water_balance.simulate`.
    """
    if not cases:
        raise InvalidInputError("There is no zone.", field="cases", remedy="Give one at least.")
    columns = _columns(cases, days)
    histories = distinct_histories(**vars(columns))
    account = _account(columns, histories, days)
    limit_mm = histories.pick(columns.reserve_mm)
    by_year, by_month = (
        totals_of(account, limit_mm, days, period_starts(days.dates, unit)).spread(histories)
        for unit in "YM"
    )
    first_year = int(str(days.dates[0])[:4])
    return Replay(first_year, by_year, by_month, columns.gross_mm, histories, account)


def _account(columns: Columns, histories: Histories, days: ReplayDays) -> WaterAccount:
    rain = np.asarray(daily_effective_rain_mm(days.rain_mm, days.et0_mm))
    return simulate(
        histories.pick(columns.need_mm),
        rain[:, np.newaxis],
        Waterings(
            gross_mm=histories.pick(columns.gross_mm),
            net_fraction=histories.pick(columns.net_fraction),
            runoff_mm=histories.pick(columns.runoff_mm),
            soak_runoff_mm=histories.pick(columns.soak_runoff_mm),
        ),
        RootZone(
            storage_mm=histories.pick(columns.readily_available_mm),
            reserve_mm=histories.pick(columns.reserve_mm),
        ),
    )


def _columns(cases: Sequence[ReplayCase], days: ReplayDays) -> Columns:
    zones = [case.zone for case in cases]
    lives = _lives(zones, days)
    need = np.array([lived.need_mm for lived in lives]).T
    readily = np.array([lived.raw_mm for lived in lives]).T
    reserve = np.array([lived.reserve_mm for lived in lives]).T
    fraction = np.array([zone.net_fraction for zone in zones])
    put_down = np.zeros((3, *need.shape))
    for place, case in enumerate(cases):
        if not isinstance(case.schedule, IdealSchedule):
            held = set_waterings(case.zone, case.schedule, days)
            put_down[:, :, place] = held.gross_mm, held.runoff_mm, held.soak_runoff_mm
    for rule, places in _ideal_places(cases).items():
        chosen = [zones[place] for place in places]
        put_down[0][:, places] = _refills_mm(chosen, days, rule, [lives[place] for place in places])
    return Columns(need, readily, reserve, put_down[0], put_down[1], put_down[2], fraction)


def _ideal_places(cases: Sequence[ReplayCase]) -> dict[RefillRule, list[int]]:
    """Return the places of the cases that are watered as the weather asks, by their rule."""
    found: dict[RefillRule, list[int]] = {}
    for place, case in enumerate(cases):
        if isinstance(case.schedule, IdealSchedule):
            found.setdefault(case.schedule.rule, []).append(place)
    return found


def _refills_mm(
    zones: Sequence[ReplayZone],
    days: ReplayDays,
    rule: RefillRule,
    lives: Sequence[LivedDays],
) -> Array:
    """Return the gross depths of the ideal; it runs in cycles that the soil takes, so none is lost.

    While plants rest the sprinklers are off.
    """
    dates: list[dt.date] = days.dates.astype("datetime64[D]").tolist()
    limits = [day_limits(zone, dates) for zone in zones]
    most_mm = np.array([each.most_mm for each in limits]).T
    rain = np.asarray(daily_effective_rain_mm(days.rain_mm, days.et0_mm))
    refills = refill_when_due(
        RefillWeather(
            need_mm=np.array([lived.need_mm for lived in lives]).T,
            effective_rain_mm=rain[:, np.newaxis],
        ),
        RefillZones(
            storage_mm=np.array([lived.raw_mm for lived in lives]).T,
            net_fraction=[zone.net_fraction for zone in zones],
            day_limit_mm=np.where(days.is_resting[:, np.newaxis], 0.0, most_mm),
            min_days_between=[zone.facts.min_days_between for zone in zones],
            max_days_between=np.array([_longest_days(lived) for lived in lives]).T,
            waterings_a_day=[zone.limits.max_cycles for zone in zones],
            may_water=np.array([each.may_water for each in limits]).T,
        ),
        rule,
    )
    return refills.gross_mm


def _lives(zones: Sequence[ReplayZone], days: ReplayDays) -> list[LivedDays]:
    """Return the days of each zone as its plants live through them, of like zones once."""
    known: dict[ZoneFacts, LivedDays] = {}
    for zone in zones:
        if zone.facts not in known:
            known[zone.facts] = lived_days(zone.facts, days.dates, days.et0_mm)
    return [known[zone.facts] for zone in zones]


def _longest_days(lived: LivedDays) -> list[int]:
    return [zone.max_days_between or _NEVER for zone in lived.zones]
