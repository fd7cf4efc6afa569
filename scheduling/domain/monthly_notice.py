"""The monthly watering notice: what to change on the controller, what it was, and why.

The month's plan stays what a usual year asks for; the notice tells the step from one month to the
next. A client who set his controller himself is asked and not told.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from properties.domain.units import System
from scheduling.domain.notice_content import (
    CalendarEntry,
    NoticeContent,
    NoticeSection,
    NoticeTable,
    subject_line,
)
from scheduling.domain.setting_words import OFF
from scheduling.domain.weather_words import shown, spelled

LEAD_DAYS: Final = 3
"""A notice goes out so many days before its month, and in an outage as long as the month lasts."""

_ABOUT_THE_SAME: Final = 0.05  # common practice: less than what a seasonal percentage can be set to
_RULES: Final = (
    "Local watering rules, on days and hours, bind over any number here. When it has rained well, "
    "leave out the next watering."
)
_WETTER: Final = (
    "Mushrooms, moss or soil that stays soft say that it is too much; too much water helps disease."
)
_DRIER: Final = (
    "Grass that stays flat where you walked, or turns bluish, says that it is too little; thirsty "
    "plants draw insects."
)


@dataclass(frozen=True)
class ZoneStep:
    """One zone from one month to the next, each setting in words."""

    label: str
    was: str
    now: str
    is_estimated: bool = False

    @property
    def changes(self) -> bool:
        return self.was != self.now


@dataclass(frozen=True)
class ControllerSteps:
    """The zones of a controller; `set_himself_on`: the client changed it himself, since when."""

    name: str
    zones: tuple[ZoneStep, ...]
    set_himself_on: dt.date | None = None


@dataclass(frozen=True)
class MonthlyFacts:
    """What a notice is made of; ET0 is that of a usual day of the month before and of this [mm]."""

    property_id: str
    place: str
    first: dt.date
    et0_before_mm: float
    et0_mm: float
    controllers: tuple[ControllerSteps, ...]


def period_due(today: dt.date) -> dt.date:
    """Return the first day of the month that a notice is due for: the coming one near its end."""
    days = calendar.monthrange(today.year, today.month)[1]
    first = today.replace(day=1)
    return first if today.day <= days - LEAD_DAYS else first + dt.timedelta(days=days)


def monthly_content(facts: MonthlyFacts, system: System) -> NoticeContent:
    """Return what the client hears for a month.

    Parameters
    ----------
    facts : see there; zones without a plan do not stand in it.
    system : units of the reader.
    """
    month = f"{facts.first:%B}"
    changed = [zone for each in facts.controllers for zone in each.zones if zone.changes]
    is_asked = any(each.set_himself_on for each in facts.controllers)
    return NoticeContent(
        subject=subject_line(f"{_heading(changed, facts, month)}: {facts.place}"),
        summary=f"{_why(facts, system)} {_gist(changed, is_asked=is_asked)}",
        sections=(
            *(_section(each, facts.first, system) for each in facts.controllers),
            NoticeSection("What to watch", (_watch(facts), _RULES)),
        ),
        calendar=_entries(facts, month) if changed else (),
        has_sheet=True,
    )


def _heading(changed: Sequence[ZoneStep], facts: MonthlyFacts, month: str) -> str:
    if not changed:
        return f"Watering stays as it is in {month}"
    if all(zone.now == OFF for each in facts.controllers for zone in each.zones):
        return f"Switch off for {month}"
    step = _step(facts)
    if abs(step) < _ABOUT_THE_SAME:
        return f"New settings for {month}"
    return f"Water {'more' if step > 0 else 'less'} in {month}"


def _step(facts: MonthlyFacts) -> float:
    return facts.et0_mm / facts.et0_before_mm - 1.0 if facts.et0_before_mm > 0.0 else 0.0


def _why(facts: MonthlyFacts, system: System) -> str:
    """The weather in one sentence."""
    before = f"{facts.first - dt.timedelta(days=1):%B}"
    step = _step(facts)
    depth = shown(facts.et0_mm, "depth", system)
    usual = f"in a usual {facts.first:%B} the air takes {depth} of water a day from a lawn"
    if abs(step) < _ABOUT_THE_SAME:
        return f"As {before} so {facts.first:%B}: {usual}."
    turn, more = ("warmer", "more") if step > 0 else ("cooler", "less")
    return f"It gets {turn}: {usual}, {abs(step):.0%} {more} than in {before}."


def _gist(changed: Sequence[ZoneStep], *, is_asked: bool) -> str:
    if is_asked:
        return "You set a controller yourself: please look whether it still suits."
    if not changed:
        return "Nothing has to be changed on the controller."
    zones = "one zone" if len(changed) == 1 else f"{len(changed)} zones"
    return f"Please change {zones} on the controller."


def _section(each: ControllerSteps, first: dt.date, system: System) -> NoticeSection:
    rows = tuple(
        (zone.label + (" (estimated)" if zone.is_estimated else ""), zone.was, _now(zone))
        for zone in each.zones
    )
    told = []
    if each.set_himself_on is not None:
        told.append(
            f"You changed this controller yourself on {spelled(each.set_himself_on, system)}. Is "
            "it still set so, and does the garden look well with it? If you would rather go by "
            "our numbers, they are:"
        )
    if any(zone.is_estimated for zone in each.zones):
        told.append("Estimated: these zones have not been measured with cups yet.")
    before = f"{first - dt.timedelta(days=1):%B}"
    table = NoticeTable(("Zone", f"In {before}", f"From {spelled(first, system)}"), rows)
    return NoticeSection(each.name, tuple(told), table)


def _now(zone: ZoneStep) -> str:
    return zone.now if zone.changes else "as before"


def _watch(facts: MonthlyFacts) -> str:
    return _DRIER if _step(facts) > 0 else _WETTER


def _entries(facts: MonthlyFacts, month: str) -> tuple[CalendarEntry, ...]:
    return (
        CalendarEntry(
            uid=f"{facts.property_id}-{facts.first:%Y-%m}",
            date=facts.first,
            summary=f"Set the sprinklers for {month}",
            description=f"{facts.place}. What to set stands in the watering notice.",
        ),
    )
