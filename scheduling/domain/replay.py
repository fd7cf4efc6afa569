"""Past years once more: what each way of watering would have done to each zone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import InvalidInputError
from scheduling.domain import plants
from scheduling.domain.needs import daily_need_mm
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.refill import RefillRule, RefillWeather, RefillZones, refill_when_due
from scheduling.domain.replay_schedules import (
    MONTHS,
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
from scheduling.domain.zone_facts import (
    plant_factor_of,
    readily_available_of,
    watering_day_limit_of,
)

_ALL_MONTHS: Final = range(1, MONTHS + 1)
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
    readily = np.array([_readily_available_mm(zone) for zone in zones]).T[days.month]
    needed = np.array([_need_per_et0(zone) for zone in zones]).T[days.month]
    need = needed * days.et0_mm[:, np.newaxis]
    fraction = np.array([zone.net_fraction for zone in zones])
    put_down = np.zeros((3, *need.shape))
    for place, case in enumerate(cases):
        if not isinstance(case.schedule, IdealSchedule):
            held = set_waterings(case.zone, case.schedule, days)
            put_down[:, :, place] = held.gross_mm, held.runoff_mm, held.soak_runoff_mm
    for rule, places in _ideal_places(cases).items():
        chosen = [zones[place] for place in places]
        put_down[0][:, places] = _refills_mm(
            chosen, days, rule, need[:, places], readily[:, places], fraction[places]
        )
    reserve = readily * np.array([_reserve_per_readily(zone) for zone in zones])
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
    need: Array,
    storage: Array,
    fraction: Array,
) -> Array:
    """Return the gross depths of the ideal; it runs in cycles that the soil takes, so none is lost.

    While plants rest the sprinklers are off.
    """
    most = np.array([watering_day_limit_of(zone.facts) for zone in zones])
    limit = np.where(days.is_resting[:, np.newaxis], 0.0, most)
    rain = np.asarray(daily_effective_rain_mm(days.rain_mm, days.et0_mm))
    refills = refill_when_due(
        RefillWeather(need_mm=need, effective_rain_mm=rain[:, np.newaxis]),
        RefillZones(
            storage_mm=storage,
            net_fraction=fraction,
            day_limit_mm=limit,
            min_days_between=[zone.facts.min_days_between for zone in zones],
            max_days_between=[zone.facts.max_days_between or _NEVER for zone in zones],
        ),
        rule,
    )
    return refills.gross_mm


def _need_per_et0(zone: ReplayZone) -> NDArray[np.float64]:
    return np.array(
        [
            daily_need_mm(
                1.0,
                plant_factor_of(zone.facts, month),
                quality_factor=zone.facts.quality_factor,
                site_factor=zone.facts.site_factor,
            )
            for month in _ALL_MONTHS
        ]
    )


def _readily_available_mm(zone: ReplayZone) -> NDArray[np.float64]:
    return np.array([readily_available_of(zone.facts, month) for month in _ALL_MONTHS])


def _reserve_per_readily(zone: ReplayZone) -> float:
    """Return what roots hold beyond the readily available water, over that water."""
    facts = zone.facts
    depletion = facts.allowed_depletion or plants.default_allowed_depletion(facts.plant_type)
    return 1.0 / depletion - 1.0
