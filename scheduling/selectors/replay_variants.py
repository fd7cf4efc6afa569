"""One way of watering through past weather, and how it stands beside the others."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from properties.domain.errors import DomainError, RefusedError
from scheduling.domain.replay import Replay as Replayed
from scheduling.domain.replay import replay
from scheduling.domain.replay_differences import (
    Difference,
    Interval,
    WayOfWatering,
    ZoneLitres,
    difference,
    difference_interval,
)
from scheduling.domain.replay_schedules import ReplayCase
from scheduling.domain.replay_totals import ZonesTogether, zones_together
from scheduling.selectors.replay_cases import case_of
from scheduling.selectors.replay_weather import ReplayWeather
from scheduling.selectors.replay_zones import FoundZone


@dataclass(frozen=True)
class VariantReplay:
    """One way of watering: the zones that could be replayed so, and why the others could not."""

    name: str
    base: str
    cases: tuple[ReplayCase, ...]
    result: Replayed | None
    refusals: Mapping[Any, DomainError]

    @property
    def places(self) -> dict[Any, int]:
        """The place of each zone among the cases."""
        return {case.zone.zone_id: place for place, case in enumerate(self.cases)}

    @property
    def with_area(self) -> list[Any]:
        """The zones of which litres are known."""
        return [case.zone.zone_id for case in self.cases if case.zone.facts.area_m2 is not None]

    def of(self, zone_ids: Sequence[Any]) -> list[ReplayCase]:
        """The cases of some zones, in their order."""
        return [self.cases[self.places[zone_id]] for zone_id in zone_ids]

    def together(self, zone_ids: Sequence[Any], weather: ReplayWeather) -> ZonesTogether:
        """Return some zones as one in the years with weather."""
        assert self.result is not None
        places = [self.places[zone_id] for zone_id in zone_ids]
        years = self.result.years.of(weather.is_of_year, places)
        return zones_together(years, self._areas_m2(zone_ids))

    def litres(self, zone_ids: Sequence[Any], weather: ReplayWeather) -> ZoneLitres:
        """Return the litres of some zones, and how wrong their rates may be."""
        assert self.result is not None
        places = [self.places[zone_id] for zone_id in zone_ids]
        gross_mm = self.result.years.gross_mm[weather.is_of_year][:, places]
        errors = np.array([case.zone.rate_errors for case in self.of(zone_ids)])
        return ZoneLitres(gross_mm * self._areas_m2(zone_ids), errors[:, 0], errors[:, 1])

    def _areas_m2(self, zone_ids: Sequence[Any]) -> Any:
        return np.array([case.zone.facts.area_m2 for case in self.of(zone_ids)])


@dataclass(frozen=True)
class Against:
    """How a way of watering stands to another over the zones that both could replay.

    The rates of `zones_unmeasured` are estimated: their error is in no interval. `parts` are the
    zones that take less, and those that take more: a thirsty zone hides what another wastes.
    """

    difference: Difference
    interval: Interval
    parts: Mapping[str, Part]
    zones: int
    zones_unmeasured: int


@dataclass(frozen=True)
class Part:
    """Some of the zones by their ids, and what they take less or more."""

    zone_ids: tuple[Any, ...]
    interval: Interval


def replayed(
    variant: Mapping[str, Any], zones: Sequence[FoundZone], weather: ReplayWeather
) -> VariantReplay:
    """Replay one way of watering; a zone that cannot be is left out with its refusal."""
    first = dt.date.fromisoformat(str(weather.days.dates[0]))
    cases: list[ReplayCase] = []
    refusals: dict[Any, DomainError] = {}
    for zone in zones:
        try:
            cases.append(case_of(zone, variant, first))
        except DomainError as refusal:
            refusals[zone.zone.pk] = refusal
    result = replay(cases, weather.days) if cases else None
    return VariantReplay(variant["name"], variant["base"], tuple(cases), result, refusals)


def refuse_nothing(variants: Sequence[VariantReplay]) -> None:
    """Refuse where not one zone of one variant could be replayed, with the first reason."""
    if any(each.result for each in variants):
        return
    refusal = next((why for each in variants for why in each.refusals.values()), None)
    raise RefusedError(
        f"Not one zone can be replayed. {refusal.detail if refusal else 'No zone is active.'}",
        code="nothing-to-replay", field="property",
        remedy=refusal.remedy if refusal else "Enter the zones of the property.",
    )  # fmt: skip


def zones_of_all(variants: Sequence[VariantReplay]) -> list[Any]:
    """Return the zones whose litres are known under every variant that replayed any zone."""
    able = [each for each in variants if each.result]
    common = set.intersection(*(set(each.with_area) for each in able))
    return [zone_id for zone_id in able[0].with_area if zone_id in common]


def against(
    one: VariantReplay,
    other: VariantReplay,
    weather: ReplayWeather,
    *,
    price_per_m3: float | None,
) -> Against | None:
    """Return how one variant stands to the first; None for the first itself, and without litres."""
    both = [zone_id for zone_id in one.with_area if zone_id in set(other.with_area)]
    if one is other or not both:
        return None
    ways = [each.together(both, weather) for each in (one, other)]
    zones, others = ([case.zone for case in each.of(both)] for each in (one, other))
    shares_rate = np.array(
        [
            zone.facts.rate_mm_h == then.facts.rate_mm_h
            for zone, then in zip(zones, others, strict=True)
        ]
    )
    litres = one.litres(both, weather), other.litres(both, weather)
    return Against(
        difference=difference(
            *(WayOfWatering(way.litres, way.stress_days) for way in ways),
            price_per_m3=price_per_m3,
        ),
        interval=difference_interval(*litres, shares_rate),
        parts=_parts(both, litres, shares_rate),
        zones=len(both),
        zones_unmeasured=sum(zone.rate_interval_mm_h is None for zone in zones),
    )


def _parts(
    zone_ids: Sequence[Any], litres: tuple[ZoneLitres, ZoneLitres], shares_rate: NDArray[np.bool_]
) -> dict[str, Part]:
    one, other = litres
    change = (other.litres - one.litres).mean(axis=0)
    parts = {}
    for name, is_in in (("less", change < 0.0), ("more", change > 0.0)):
        places = np.flatnonzero(is_in).astype(np.int64)
        if places.size:
            interval = difference_interval(one.of(places), other.of(places), shares_rate[places])
            parts[name] = Part(tuple(zone_ids[place] for place in places.tolist()), interval)
    return parts
