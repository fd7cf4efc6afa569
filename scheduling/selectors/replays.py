"""The answer to a replay that was asked for: past weather, zones, ways of watering side by side."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final

import numpy as np
from django.db.models import BooleanField, Case, QuerySet, Value, When

from properties.models import Property
from scheduling.domain.replay_totals import PickedYears, pick_years
from scheduling.models import Replay
from scheduling.selectors.controller_programs import newest_fits
from scheduling.selectors.replay_answers import (
    Shown,
    against_answer,
    refused,
    summary_answer,
    zone_answer,
)
from scheduling.selectors.replay_cases import FITTED, FOUND, IDEAL, needs_repairs
from scheduling.selectors.replay_notes import replay_notes, variant_notes
from scheduling.selectors.replay_rules import district_of, under_rules
from scheduling.selectors.replay_variants import (
    VariantReplay,
    against,
    refuse_nothing,
    replayed,
    zones_of_all,
)
from scheduling.selectors.replay_weather import ReplayWeather, replay_weather
from scheduling.selectors.replay_zones import FoundZone, found_zones
from scheduling.selectors.weather_outlook import local_date

REPLAY_STATES: Final = [(state, state) for state in ("waiting", "refused", "answered")]
Done = Callable[[int, int], None]


def usual_variants(property_: Property) -> list[dict[str, Any]]:
    """Return what is replayed where nobody says what: found, ideal, and what is fitted."""
    bases = [FOUND, IDEAL, *([FITTED] if newest_fits(property_).exists() else [])]
    return [{"name": base, "base": base, "changes": []} for base in bases]


def without_answers(rows: QuerySet[Replay]) -> QuerySet[Replay]:
    """Leave the answers where they are; `is_refused` tells which are refusals."""
    is_refused = Case(
        When(answer__has_key="refusal", then=Value(True)),
        default=Value(False),
        output_field=BooleanField(),
    )
    return rows.defer("answer").annotate(is_refused=is_refused)


def replay_answer(asked: Replay, tell: Done = lambda done, of: None) -> dict[str, Any]:
    """Return the answer to a stored question, as JSON.

    1. Weather of whole years; 2. zones as they stand, under the rules of the year to come; 3. each
    variant replayed; 4. each after the first held against it, over the zones that both could
    replay; and all side by side over those that all could. `tell` hears after each variant how many
    of them are done.

    Raises
    ------
    RefusedError
        Where there is no weather, or not one zone of one variant can be replayed.
    """
    property_, question = asked.property, asked.asked
    weather = replay_weather(property_, question.get("first_year"), question.get("last_year"))
    variants: Sequence[Mapping[str, Any]] = question["variants"]
    zones = found_zones(property_, weather.latitude_deg, with_repairs=needs_repairs(variants))
    on = local_date(property_, asked.created_at)
    zones = under_rules(property_, zones, weather.days, on)
    ways = []
    for done, variant in enumerate(variants, start=1):
        ways.append(replayed(variant, zones, weather))
        tell(done, len(variants))
    refuse_nothing(ways)
    return _told(property_, ways, zones, weather)


def _told(
    property_: Property,
    ways: Sequence[VariantReplay],
    zones: Sequence[FoundZone],
    weather: ReplayWeather,
) -> dict[str, Any]:
    picked = _picked(ways, weather)
    price = property_.water_price_per_m3
    shown = Shown(
        years=weather.years,
        is_of_year=weather.is_of_year,
        picked=picked,
        price_per_m3=None if price is None else float(price),
    )
    district, common = district_of(property_), zones_of_all(ways)
    return {
        "weather": _weather_told(weather),
        "picked_years": vars(picked),
        "notes": [asdict(note) for note in replay_notes(weather, zones)],
        "variants": [
            {
                "name": each.name,
                "base": each.base,
                "notes": [asdict(note) for note in variant_notes(each.base, zones, district)],
                "summary": _summary_told(each, common, weather, shown),
                "zones": [_zone_told(zone, each, shown) for zone in zones],
                "difference": against_answer(
                    against(ways[0], each, weather, price_per_m3=shown.price_per_m3)
                ),
            }
            for each in ways
        ],
    }


def _summary_told(
    way: VariantReplay, common: Sequence[Any], weather: ReplayWeather, shown: Shown
) -> dict[str, Any] | None:
    if not common or way.result is None:
        return None
    return {"zones": len(common), **summary_answer(way.together(common, weather), shown)}


def _picked(ways: Sequence[VariantReplay], weather: ReplayWeather) -> PickedYears:
    """Pick the years by the mean zone of the first variant that has any."""
    years = next(each.result.years for each in ways if each.result)
    wanted_mm = (years.need_mm - years.effective_rain_mm)[weather.is_of_year].mean(axis=1)
    return pick_years(np.array(weather.years), wanted_mm)


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
