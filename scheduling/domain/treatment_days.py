"""Treatments laid over days: which day waters in, which days stay dry, and whose label binds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within

LEAST_WATER_IN_MM: Final = 0.1


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
    """

    asked: Asked
    first: dt.date
    last: dt.date
    label: str = ""
    at_most_mm: float | None = None
    put_down_mm: float = 0.0

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


@dataclass(frozen=True)
class TreatedDay:
    """What treatments ask on one day: a code that stops the water, or a depth to water in [mm]."""

    block: str | None = None
    water_in_mm: float | None = None
    labels: tuple[str, ...] = ()


def treated_days(
    treatments: Sequence[TreatmentDays], days: Sequence[dt.date], may_run: Sequence[bool]
) -> tuple[TreatedDay, ...]:
    """Return what the treatments of a zone ask on each day.

    Where one asks for water and another for none, none is given, as in the audits. Water-in takes
    the first day of its window on which water may run, and no other water follows within it.

    Parameters
    ----------
    treatments : of the zone and of its whole property.
    days : in a row.
    may_run : whether rules and weather let the zone run on each.

    References
    ----------
    Common practice; the labels of the products bind.
    """
    held = [_covered(treatments, day, Asked.HOLD) for day in days]
    free = [allowed and not holds for allowed, holds in zip(may_run, held, strict=True)]
    chosen = _water_in_days(treatments, days, free)
    return tuple(
        _treated(treatments, day, bool(holds), chosen)
        for day, holds in zip(days, held, strict=True)
    )


def _covered(
    treatments: Sequence[TreatmentDays], day: dt.date, asked: Asked
) -> list[TreatmentDays]:
    return [each for each in treatments if each.asked is asked and each.covers(day)]


def _left_mm(treatment: TreatmentDays) -> float:
    return (treatment.at_most_mm or 0.0) - treatment.put_down_mm


def _water_in_days(
    treatments: Sequence[TreatmentDays], days: Sequence[dt.date], free: Sequence[bool]
) -> dict[int, dt.date | None]:
    """Return for each water-in, by its place, its day; None where none is free."""
    return {
        place: next((d for d, ok in zip(days, free, strict=True) if ok and each.covers(d)), None)
        for place, each in enumerate(treatments)
        if each.asked is Asked.WATER_IN and _left_mm(each) >= LEAST_WATER_IN_MM
    }


def _treated(
    treatments: Sequence[TreatmentDays],
    day: dt.date,
    is_held: bool,
    chosen: dict[int, dt.date | None],
) -> TreatedDay:
    labels = tuple(each.label for each in treatments if each.covers(day) and each.label)
    if is_held:
        return TreatedDay("hold", None, labels)
    places = [
        place
        for place, each in enumerate(treatments)
        if each.asked is Asked.WATER_IN and each.covers(day)
    ]
    if not places:
        return TreatedDay(None, None, labels)
    left_mm = min(_left_mm(treatments[place]) for place in places)
    if left_mm >= LEAST_WATER_IN_MM and any(chosen[place] == day for place in places):
        return TreatedDay(None, left_mm, labels)
    return TreatedDay(_without_water(places, day, chosen), None, labels)


def _without_water(places: list[int], day: dt.date, chosen: dict[int, dt.date | None]) -> str:
    """A window of which no day waters says so; before its day the water is kept for it."""
    planned = [chosen[place] for place in places if place in chosen]
    return "no-water-in" if None in planned else "watered-in"
