"""A separate judge of waterings: keeps its own account, in inches, zone by zone and day by day.

It knows nothing of the product and shares no code with it. It is told what each controller ran
(cycles, minutes, soak) and judges with its own weather.

Order of its day: what ran before dawn, then need and rain together, of which the plants use the
rain first. So water that a later rain displaces counts as the rain's. `rain_first` turns it round:
all overflow of a day with rain and watering is then the watering's.
Rain: four fifths of it reach the roots (common practice of such tests, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tests.scheduling.judge.reference_zones import ReferenceZone

RAIN_THAT_COUNTS = 0.8
INCH_MM = 25.4


@dataclass(frozen=True)
class Run:
    """What a controller ran on a day: equal cycles with equal soaks between."""

    cycles: int
    cycle_min: float
    soak_min: float


class JudgedDay(NamedTuple):
    """One day of one zone [in]."""

    need: float
    deficit: float
    net: float
    surface_loss: float
    irrigation_overflow: float
    rain_overflow: float
    stored: float


@dataclass(frozen=True)
class Verdict:
    """Scores of one zone in one window; None is no score."""

    adequacy: float | None
    excess: float | None


def judge_zone(
    zone: ReferenceZone,
    runs: Sequence[Run | None],
    *,
    et0_mm: Sequence[float],
    rain_mm: Sequence[float],
    months: Sequence[int],
    rain_first: bool = False,
    rain_share: float = RAIN_THAT_COUNTS,
) -> list[JudgedDay]:
    """Keep the account of one zone, full at the start."""
    stored, days = zone.storage_in, []
    for run, et0, rain, month in zip(runs, et0_mm, rain_mm, months, strict=True):
        need = et0 / INCH_MM * zone.crop[month] * zone.sun
        day = _judge_day(zone, stored, run, need, rain_share * rain / INCH_MM, rain_first)
        stored = day.stored
        days.append(day)
    return days


def verdict(days: Sequence[JudgedDay]) -> Verdict:
    """Adequacy (ETc - deficit)/ETc and excess (losses by irrigation)/(net irrigation)."""
    need = sum(day.need for day in days)
    net = sum(day.net for day in days)
    lost = sum(day.surface_loss + day.irrigation_overflow for day in days)
    return Verdict(
        adequacy=1 - sum(day.deficit for day in days) / need if need else None,
        excess=lost / net if net else None,
    )


def _judge_day(
    zone: ReferenceZone,
    stored: float,
    run: Run | None,
    need: float,
    rain: float,
    rain_first: bool,
) -> JudgedDay:
    put_down, lost = surface(zone, run) if run else (0.0, 0.0)
    net, surface_loss = put_down * zone.efficiency, lost * zone.efficiency
    if rain_first:
        rain_overflow = max(0.0, stored + rain - zone.storage_in)
        stored += rain - rain_overflow
        overflow = max(0.0, stored + net - surface_loss - zone.storage_in)
        stored += net - surface_loss - overflow - need
    else:
        overflow = max(0.0, stored + net - surface_loss - zone.storage_in)
        stored += net - surface_loss - overflow + rain - need
        rain_overflow = max(0.0, stored - zone.storage_in)
        stored -= rain_overflow
    return JudgedDay(
        need, max(0.0, -stored), net, surface_loss, overflow, rain_overflow, max(0.0, stored)
    )


def surface(zone: ReferenceZone, run: Run) -> tuple[float, float]:
    """What a run puts down and what of it runs off [in], by the film on the surface."""
    film = lost = 0.0
    for _ in range(run.cycles):
        film += max(0.0, zone.rate_in_h - zone.intake_in_h) * run.cycle_min / 60
        lost += max(0.0, film - zone.standing_in)
        film = max(0.0, min(film, zone.standing_in) - zone.intake_in_h * run.soak_min / 60)
    return run.cycles * run.cycle_min * zone.rate_in_h / 60, lost
