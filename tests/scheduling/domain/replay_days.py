"""Days, zones and schedules for replays, with fixed, hand-sized defaults."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np

from audits.domain.found_program import FoundProgram
from scheduling.domain.program_waterings import dated_program
from scheduling.domain.replay_schedules import ReplayCase, ReplayDays, ReplayZone, SetSchedule
from tests.scheduling.domain.zones import SAND, make_zone

MONDAY = dt.date(2020, 6, 1)
MON_WED_FRI = frozenset({0, 2, 4})
EVERY_DAY = frozenset(range(7))


def make_replay_days(
    first: dt.date = dt.date(2020, 1, 1),
    count: int = 366,
    *,
    et0_mm: Any = 5.0,
    rain_mm: Any = 0.0,
    resting_months: tuple[int, ...] = (),
) -> ReplayDays:
    """Days of one ET0 and one rain, or of their own; nothing rests."""
    dates = np.datetime64(first) + np.arange(count)
    months = dates.astype("datetime64[M]").astype(int) % 12 + 1
    return ReplayDays(
        dates=dates,
        et0_mm=np.broadcast_to(np.asarray(et0_mm, dtype=float), dates.shape),
        rain_mm=np.broadcast_to(np.asarray(rain_mm, dtype=float), dates.shape),
        is_resting=np.isin(months, resting_months),
    )


def make_replay_zone(zone_id: Any = "lawn", **changes: Any) -> ReplayZone:
    """15 mm readily available of 30 on sand, 30 mm/h, perfectly even, 200 m2."""
    facts = make_zone(**{**SAND, "rate_mm_h": 30.0, "area_m2": 200.0, **changes})
    return ReplayZone(zone_id=zone_id, facts=facts)


def make_program(
    minutes: float = 12.0,
    *,
    starts: tuple[str, ...] = ("05:00",),
    weekdays: frozenset[int] | None = MON_WED_FRI,
    interval_days: int | None = None,
    zone_id: Any = "lawn",
) -> FoundProgram:
    return FoundProgram(
        start_times=tuple(dt.time.fromisoformat(start) for start in starts),
        zone_minutes=((zone_id, minutes),),
        weekdays=None if interval_days else weekdays,
        interval_days=interval_days,
    )


def make_set(*programs: FoundProgram, anchor: dt.date = MONDAY, **changes: Any) -> SetSchedule:
    dated = tuple(dated_program(program, anchor) for program in programs)
    return SetSchedule(programs=dated, **changes)


def make_case(
    *programs: FoundProgram, zone: ReplayZone | None = None, **changes: Any
) -> ReplayCase:
    return ReplayCase(zone or make_replay_zone(), make_set(*programs, **changes))
