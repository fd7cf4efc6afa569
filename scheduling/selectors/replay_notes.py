"""What a reader of a replay must know to read it right, in sentences."""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scheduling.domain.year_spans import ORDINARY
from scheduling.selectors.replay_cases import FITTED, IDEAL
from scheduling.selectors.replay_weather import USUAL_YEARS, ReplayWeather
from scheduling.selectors.replay_zones import FoundZone

NOTES: Final = {
    "few-years": "There is weather of fewer than five years: no year can be called usual.",
    "years-left-out": "Some of the years lack too many days and are left out.",
    "sensor-assumed": (
        "A rain sensor works here. Its setting is not known; it counts as one that holds the next"
        " day back after a quarter of an inch of rain."
    ),
    "winter-off": "In the months whose usual nights freeze nothing runs, whatever is set.",
    "plant-lives": (
        "Rest and overseeding count in every year on their days. A planting counts from its own"
        " date on; in the years before it the zone is taken for established."
    ),
}


@dataclass(frozen=True)
class Note:
    """A code and a sentence."""

    code: str
    sentence: str


def replay_notes(weather: ReplayWeather, zones: Sequence[FoundZone]) -> list[Note]:
    """Return what is to be known of all ways of watering."""
    lives = [zone.ready.facts.life for zone in zones if zone.ready]
    holds = {
        "few-years": len(weather.years) < USUAL_YEARS,
        "years-left-out": bool(weather.years_left_out),
        "sensor-assumed": any(zone.has_sensor for zone in zones),
        "winter-off": bool(weather.resting_months),
        "plant-lives": any(life != ORDINARY for life in lives),
    }
    return [Note(code, NOTES[code]) for code, is_so in holds.items() if is_so]


def variant_notes(base: str, zones: Sequence[FoundZone], district: str | None) -> list[Note]:
    """Return which rules a way of watering keeps, and what its fit lacks."""
    notes = [_rules_note(base, district)]
    if base == FITTED:
        notes += _fit_notes(zones)
    return notes


def _rules_note(base: str, district: str | None) -> Note:
    if district is None:
        return Note(
            "no-rules", "No watering district is known for this address: no day is forbidden."
        )
    if base == IDEAL:
        return Note(
            "rules-kept",
            f"It keeps the days and daily caps of {district}, as they hold in the twelve months to"
            " come.",
        )
    if base == FITTED:
        return Note(
            "rules-as-fitted",
            f"It runs as it was fitted under the rules of {district}; rules that changed since are"
            " not in it.",
        )
    return Note(
        "rules-not-kept",
        f"It runs as it is set, also where the rules of {district} forbid it.",
    )


def _fit_notes(zones: Sequence[FoundZone]) -> list[Note]:
    missing = sorted(
        {month for zone in zones if zone.fitted for month in zone.fitted.months_missing}
    )
    if not missing:
        return []
    names = ", ".join(calendar.month_name[month] for month in missing)
    return [
        Note("months-without-fit", f"In {names} nothing was fitted: nothing runs in these months.")
    ]
