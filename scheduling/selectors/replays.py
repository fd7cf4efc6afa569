"""The answer to a replay that was asked for: past weather, zones, ways of watering side by side."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from django.db.models import BooleanField, Case, QuerySet, Value, When

from properties.domain.errors import DomainError, RefusedError
from scheduling.domain.replay import Replay as Replayed
from scheduling.domain.replay import replay
from scheduling.domain.replay_differences import WayOfWatering, difference, years_together
from scheduling.domain.replay_schedules import ReplayCase
from scheduling.domain.replay_totals import PickedYears, pick_years
from scheduling.models import Replay
from scheduling.selectors.replay_answers import Shown, difference_answer, refused, zone_answer
from scheduling.selectors.replay_cases import (
    FOUND,
    IDEAL,
    FoundZone,
    case_of,
    found_zones,
    needs_repairs,
)
from scheduling.selectors.replay_weather import USUAL_YEARS, ReplayWeather, replay_weather

REPLAY_STATES: Final = [(state, state) for state in ("waiting", "refused", "answered")]
USUAL_VARIANTS: Final = (
    {"name": FOUND, "base": FOUND, "changes": []},
    {"name": IDEAL, "base": IDEAL, "changes": []},
)
NOTES: Final = {
    "few-years": "There is weather of fewer than five years: no year can be called usual.",
    "years-left-out": "Some of the years lack too many days and are left out.",
    "sensor-assumed": (
        "A rain sensor works here. Its setting is not known; it counts as one that holds the next"
        " day back after a quarter of an inch of rain."
    ),
    "winter-off": "In the months whose usual nights freeze nothing runs, whatever is set.",
}


@dataclass(frozen=True)
class VariantReplay:
    """One way of watering: the zones that could be replayed so, and why the others could not."""

    name: str
    cases: tuple[ReplayCase, ...]
    result: Replayed | None
    refusals: Mapping[Any, DomainError]

    def way(self, zone_ids: Sequence[Any], weather: ReplayWeather) -> WayOfWatering:
        """Return litres and stress days of some zones in the years with weather."""
        assert self.result is not None
        places = [self.places[zone_id] for zone_id in zone_ids]
        years = self.result.years
        areas = np.array([self.cases[place].zone.facts.area_m2 for place in places])
        gross, stress = (
            values[weather.is_of_year][:, places] for values in (years.gross_mm, years.stress_days)
        )
        return years_together(gross * areas, stress)

    @property
    def with_area(self) -> list[Any]:
        """The zones of which litres are known."""
        return [case.zone.zone_id for case in self.cases if case.zone.facts.area_m2 is not None]

    @property
    def places(self) -> dict[Any, int]:
        return {case.zone.zone_id: place for place, case in enumerate(self.cases)}


def without_answers(rows: QuerySet[Replay]) -> QuerySet[Replay]:
    """Leave the answers where they are; `is_refused` tells which are refusals."""
    is_refused = Case(
        When(answer__has_key="refusal", then=Value(True)),
        default=Value(False),
        output_field=BooleanField(),
    )
    return rows.defer("answer").annotate(is_refused=is_refused)


def replay_answer(asked: Replay) -> dict[str, Any]:
    """Return the answer to a stored question, as JSON.

    1. Weather of whole years; 2. zones as they stand; 3. each variant replayed; 4. each after the
    first held against it, over the zones that both could replay.

    Raises
    ------
    RefusedError
        Where there is no weather, or not one zone of one variant can be replayed.
    """
    property_, question = asked.property, asked.asked
    weather = replay_weather(property_, question.get("first_year"), question.get("last_year"))
    variants: Sequence[Mapping[str, Any]] = question["variants"]
    zones = found_zones(property_, weather.latitude_deg, with_repairs=needs_repairs(variants))
    replayed = [_replayed(variant, zones, weather) for variant in variants]
    _refuse_nothing(replayed)
    picked = _picked(replayed, weather)
    price = property_.water_price_per_m3
    shown = Shown(
        years=weather.years,
        is_of_year=weather.is_of_year,
        by_month=tuple(dict.fromkeys(vars(picked).values())),
        price_per_m3=None if price is None else float(price),
    )
    return {
        "weather": _weather_told(weather),
        "picked_years": vars(picked),
        "notes": [{"code": code, "sentence": NOTES[code]} for code in _notes(weather, zones)],
        "variants": [
            {
                "name": each.name,
                "zones": [_zone_told(zone, each, shown) for zone in zones],
                "difference": _difference_told(replayed[0], each, weather, shown),
            }
            for each in replayed
        ],
    }


def _replayed(
    variant: Mapping[str, Any], zones: Sequence[FoundZone], weather: ReplayWeather
) -> VariantReplay:
    first = dt.date.fromisoformat(str(weather.days.dates[0]))
    cases: list[ReplayCase] = []
    refusals: dict[Any, DomainError] = {}
    for zone in zones:
        try:
            cases.append(case_of(zone, variant, first))
        except DomainError as refusal:
            refusals[zone.zone.pk] = refusal
    result = replay(cases, weather.days) if cases else None
    return VariantReplay(variant["name"], tuple(cases), result, refusals)


def _refuse_nothing(replayed: Sequence[VariantReplay]) -> None:
    if any(each.result for each in replayed):
        return
    refusal = next((why for each in replayed for why in each.refusals.values()), None)
    raise RefusedError(
        f"Not one zone can be replayed. {refusal.detail if refusal else 'No zone is active.'}",
        code="nothing-to-replay", field="property",
        remedy=refusal.remedy if refusal else "Enter the zones of the property.",
    )  # fmt: skip


def _picked(replayed: Sequence[VariantReplay], weather: ReplayWeather) -> PickedYears:
    """Pick the years by the mean zone of the first variant that has any."""
    years = next(each.result.years for each in replayed if each.result)
    wanted_mm = (years.need_mm - years.effective_rain_mm)[weather.is_of_year].mean(axis=1)
    return pick_years(np.array(weather.years), wanted_mm)


def _notes(weather: ReplayWeather, zones: Sequence[FoundZone]) -> list[str]:
    holds = {
        "few-years": len(weather.years) < USUAL_YEARS,
        "years-left-out": bool(weather.years_left_out),
        "sensor-assumed": any(zone.has_sensor for zone in zones),
        "winter-off": bool(weather.resting_months),
    }
    return [code for code, is_so in holds.items() if is_so]


def _weather_told(weather: ReplayWeather) -> dict[str, Any]:
    return {
        "station": weather.main.station.code,
        "years": list(weather.years),
        "years_left_out": [
            {"year": year, "days_missing": days} for year, days in weather.years_left_out
        ],
        "days_filled": weather.days_filled,
        "days_usual": weather.days_usual,
        "resting_months": weather.resting_months,
    }


def _zone_told(zone: FoundZone, variant: VariantReplay, shown: Shown) -> dict[str, Any]:
    told: dict[str, Any] = {"zone": str(zone.zone.pk), "number": zone.zone.number}
    refusal = variant.refusals.get(zone.zone.pk)
    if refusal is not None:
        return {**told, "problem": refused(refusal)}
    assert variant.result is not None
    place = variant.places[zone.zone.pk]
    return {
        **told,
        "problem": None,
        **zone_answer(variant.cases[place], variant.result, place, shown),
    }


def _difference_told(
    one: VariantReplay, other: VariantReplay, weather: ReplayWeather, shown: Shown
) -> dict[str, Any] | None:
    """Return how a variant stands to the first; null for the first itself, and without litres."""
    both = [zone_id for zone_id in one.with_area if zone_id in set(other.with_area)]
    if one is other or not both:
        return None
    ways = (each.way(both, weather) for each in (one, other))
    return difference_answer(difference(*ways, price_per_m3=shown.price_per_m3), len(both))
