"""Treatments laid over days: which day waters in, which days stay dry, and whose label binds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within
from scheduling.domain.dated_rules import DayRules

LEAST_WATER_IN_MM: Final = 0.1
NOT_BY_RULES: Final = "forbidden-day"


class Asked(StrEnum):
    """What a treatment asks of the water."""

    WATER_IN = "water_in"
    HOLD = "hold"


@dataclass(frozen=True, kw_only=True)
class TreatmentDays:
    """A treatment by calendar days: every day that its window touches, both ends included.

    at_most_mm : the most that it may be watered in with, gross [mm]; of water-in alone.
    put_down_mm : what the zone is taken to have got since the application, gross [mm].
    label : what binds, in a sentence.
    relieved : days on which the rules let it be watered in though no other water may run.
    """

    asked: Asked
    first: dt.date
    last: dt.date
    label: str = ""
    at_most_mm: float | None = None
    put_down_mm: float = 0.0
    relieved: Mapping[dt.date, DayRules] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise InvalidInputError(
                "The treatment ends before it begins.",
                field="last", code="dates-crossed", remedy="Exchange the two days.",
            )  # fmt: skip
        if (self.asked is Asked.WATER_IN) != (self.at_most_mm is not None):
            raise InvalidInputError(
                "Only what is watered in has a depth, and it needs one.",
                field="at_most_mm", remedy="Give the depth to water in, or none to hold water.",
            )  # fmt: skip
        if self.at_most_mm is not None:
            number_within(self.at_most_mm, 0.1, 50.0, field="at_most_mm")
        number_within(self.put_down_mm, 0.0, 1000.0, field="put_down_mm")

    def covers(self, day: dt.date) -> bool:
        """Return whether the window touches a day."""
        return self.first <= day <= self.last

    def may_run(self, day: dt.date, block: str | None) -> bool:
        """Return whether it may be watered in on a day that something else blocks, or nothing."""
        return self.covers(day) and (
            block is None or (block == NOT_BY_RULES and day in self.relieved)
        )


@dataclass(frozen=True)
class TreatedDay:
    """What treatments ask on one day: a code that stops the water, or a depth to water in [mm].

    `relief` is what the rules let be watered in where they let nothing else run that day.
    """

    block: str | None = None
    water_in_mm: float | None = None
    labels: tuple[str, ...] = ()
    relief: DayRules | None = None


def treated_days(
    treatments: Sequence[TreatmentDays], days: Sequence[dt.date], blocks: Sequence[str | None]
) -> tuple[TreatedDay, ...]:
    """Return what the treatments of a zone ask on each day.

    Where one asks for water and another for none, none is given, as in the audits. Water-in takes
    the first day of its window on which water may run, and no other water follows within it.

    Parameters
    ----------
    treatments : of the zone and of its whole property.
    days : in a row.
    blocks : the code of what in rules or weather keeps the zone dry on each, or None.

    References
    ----------
    Common practice; the labels of the products bind.
    """
    held = [any(each.covers(day) for each in treatments if each.asked is Asked.HOLD)
            for day in days]  # fmt: skip
    blocked = ["hold" if holds else block for holds, block in zip(held, blocks, strict=True)]
    chosen = _water_in_days(treatments, days, blocked)
    return tuple(
        _treated(treatments, day, block, chosen) for day, block in zip(days, blocked, strict=True)
    )


def _left_mm(treatment: TreatmentDays) -> float:
    return (treatment.at_most_mm or 0.0) - treatment.put_down_mm


def _water_in_days(
    treatments: Sequence[TreatmentDays], days: Sequence[dt.date], blocks: Sequence[str | None]
) -> dict[int, dt.date | None]:
    """Return for each water-in, by its place, its day; None where none is free."""
    return {
        place: next((d for d, by in zip(days, blocks, strict=True) if each.may_run(d, by)), None)
        for place, each in enumerate(treatments)
        if each.asked is Asked.WATER_IN and _left_mm(each) >= LEAST_WATER_IN_MM
    }


def _treated(
    treatments: Sequence[TreatmentDays],
    day: dt.date,
    block: str | None,
    chosen: dict[int, dt.date | None],
) -> TreatedDay:
    labels = tuple(each.label for each in treatments if each.covers(day) and each.label)
    if block == "hold":
        return TreatedDay("hold", None, labels)
    places = [
        place
        for place, each in enumerate(treatments)
        if each.asked is Asked.WATER_IN and each.covers(day)
    ]
    if not places:
        return TreatedDay(None, None, labels)
    left_mm = min(_left_mm(treatments[place]) for place in places)
    todays = [place for place in places if chosen.get(place) == day]
    if left_mm >= LEAST_WATER_IN_MM and todays:
        relief = treatments[todays[0]].relieved[day] if block == NOT_BY_RULES else None
        return TreatedDay(None, left_mm, labels, relief)
    return TreatedDay(_without_water(places, day, chosen), None, labels)


def _without_water(places: list[int], day: dt.date, chosen: dict[int, dt.date | None]) -> str:
    """A window of which no day waters says so; before its day the water is kept for it."""
    planned = [chosen[place] for place in places if place in chosen]
    return "no-water-in" if None in planned else "watered-in"
