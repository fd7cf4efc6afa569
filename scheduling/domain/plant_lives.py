"""Lives of plants: new plantings, turf at rest and overseeded turf, as facts of a zone on a day.

A life changes what the plants need and how deep they root. All else follows from that: shallow
roots are watered short and often, and as they grow the plan tapers into the usual one by itself.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from enum import StrEnum
from typing import Final

from properties.domain.site import PlantType
from scheduling.domain import plants
from scheduling.domain.new_planting import establishing_root_depth_mm, is_establishing
from scheduling.domain.reasons import Reason, fact
from scheduling.domain.year_spans import ORDINARY
from scheduling.domain.zone_facts import ZoneFacts

# Common practice: turf at rest is kept alive with half an inch every three to four weeks without
# rain; nobody makes it green with that.
SURVIVAL_MM: Final = 12.0
SURVIVAL_DAYS: Final = 28
SURVIVAL_NEED_MM_DAY: Final = SURVIVAL_MM / SURVIVAL_DAYS

MIDDLE_DAY: Final = 15
_ANY_YEAR: Final = 2001  # without a day to plan from nothing counts but month and day


class LifeStage(StrEnum):
    """What the plants of a zone live through on a day."""

    ESTABLISHED = "established"
    ESTABLISHING = "establishing"
    OVERSEEDED = "overseeded"
    DORMANT = "dormant"


_WORDS: Final = {
    LifeStage.ESTABLISHING: "new-planting",
    LifeStage.OVERSEEDED: "overseeded",
    LifeStage.DORMANT: "dormant",
}


def stage_on(zone: ZoneFacts, day: date) -> LifeStage:
    """Return what the plants live through on a day.

    A new planting goes before all else; cool-season grass in resting turf does not rest with it.
    """
    life = zone.life
    planted = life.planting_date
    if planted is not None and is_establishing(zone.plant_type, (day - planted).days):
        return LifeStage.ESTABLISHING
    if life.overseeded is not None and life.overseeded.holds_on(day):
        return LifeStage.OVERSEEDED
    if life.dormant is not None and life.dormant.holds_on(day):
        return LifeStage.DORMANT
    return LifeStage.ESTABLISHED


def zone_on(zone: ZoneFacts, day: date) -> ZoneFacts:
    """Return the zone with the roots and the plant factors that its plants have on a day.

    1. New planting: roots between those at planting and the full ones of the month.
    2. Overseeded: the published factors of cool-season turf, its roots where the zone's own are
       deeper, and its allowed depletion where the zone names none.
    3. At rest: the longest time between waterings of a survival watering; see `need_on_mm`.

    Parameters
    ----------
    zone : as it stands when nothing special is the matter.
    day : the date; the month counts for factors and roots.

    References
    ----------
    Common practice; roots of new plantings: `new_planting`.
    """
    if zone.life == ORDINARY:
        return zone
    stage = stage_on(zone, day)
    if stage is LifeStage.ESTABLISHING:
        return replace(zone, root_depths_mm=(_new_roots_mm(zone, day),) * plants.MONTHS)
    if stage is LifeStage.OVERSEEDED:
        return _overseeded(zone)
    if stage is LifeStage.DORMANT:
        longest = max(SURVIVAL_DAYS, zone.min_days_between)
        return replace(zone, max_days_between=longest)
    return zone


def need_on_mm(stage: LifeStage, need_mm: float) -> float:
    """Return what a day asks for [mm]: at rest no more than the share of a survival watering.

    Parameters
    ----------
    stage : what the plants live through.
    need_mm : what they would need awake [mm d-1].
    """
    return min(need_mm, SURVIVAL_NEED_MM_DAY) if stage is LifeStage.DORMANT else need_mm


def middle_of(month: int, on: date | None) -> date:
    """Return the middle of the coming month of that number; the month of `on` itself has begun.

    Parameters
    ----------
    month : 1 to 12.
    on : the day from which is planned; None is any year.
    """
    year = _ANY_YEAR if on is None else on.year + (month < on.month)
    return date(year, month, MIDDLE_DAY)


def zone_in_month(zone: ZoneFacts, month: int, on: date | None) -> tuple[ZoneFacts, LifeStage]:
    """Return the zone as it lives in the middle of a month, and what it lives through.

    Without a day to plan from, a planting counts as established: nobody knows how old it is.
    """
    if zone.life == ORDINARY:
        return zone, LifeStage.ESTABLISHED
    if on is None:
        zone = replace(zone, life=replace(zone.life, planting_date=None))
    day = middle_of(month, on)
    return zone_on(zone, day), stage_on(zone, day)


def life_reasons(stage: LifeStage) -> tuple[Reason, ...]:
    """Return what the life of the plants does to the plan, in words."""
    return (fact(_WORDS[stage]),) if stage in _WORDS else ()


def full_root_depth_mm(zone: ZoneFacts, month: int) -> float:
    """Return how deep the established roots reach in a month, 1 to 12 [mm]."""
    if zone.root_depths_mm is not None:
        return zone.root_depths_mm[month - 1]
    return plants.default_root_depth_mm(zone.plant_type)


def _new_roots_mm(zone: ZoneFacts, day: date) -> float:
    planted = zone.life.planting_date or day
    full_mm = full_root_depth_mm(zone, day.month)
    return float(establishing_root_depth_mm(zone.plant_type, full_mm, (day - planted).days))


def _overseeded(zone: ZoneFacts) -> ZoneFacts:
    grass = PlantType.COOL_TURF
    cool_mm = plants.default_root_depth_mm(grass)
    return replace(
        zone,
        plant_factors=plants.plant_factors(grass, zone.latitude_deg),
        root_depths_mm=tuple(
            min(cool_mm, full_root_depth_mm(zone, month)) for month in range(1, plants.MONTHS + 1)
        ),
        allowed_depletion=zone.allowed_depletion or plants.default_allowed_depletion(grass),
    )
