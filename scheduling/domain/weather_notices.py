"""What clients hear between two monthly notices: a worthwhile change, heat, a drought stage."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from properties.domain.units import System
from scheduling.domain.notice_content import (
    NoticeContent,
    NoticeSection,
    NoticeTable,
    subject_line,
)
from scheduling.domain.weather_words import HeatRun, spelled

_USUAL: Final = 100
_RULES: Final = "Local watering rules, on days and hours, bind over any number here."
_HEAT_CARE: Final = (
    "Water early in the morning. Wilting in the afternoon that is gone by morning is no thirst. "
    "Do not feed or spray lawns in the heat, and keep from heavy work outside at noon."
)


@dataclass(frozen=True)
class ZoneApart:
    """A zone whose days between are others now than its plan of the month says."""

    label: str
    planned_days: int
    now_days: int


def change_content(
    place: str, percent: int, zones: Sequence[ZoneApart], *, goes_by: int, set_himself: bool
) -> NoticeContent:
    """Return what a client hears when the weather has moved away from his settings.

    Parameters
    ----------
    place : name of the property.
    percent : need of these days over that of a usual day of the month [%].
    zones : those for which other days between follow from it.
    goes_by : what he was told last, or 100 [%].
    set_himself : he set the controller himself, so that he is asked.
    """
    more = "more" if percent > goes_by else "less"
    advice = f"If your controller has a seasonal percentage, set it to {percent} %."
    if set_himself:
        advice = f"You set the controller yourself; does it still suit? {advice}"
    told = [advice]
    table = None
    if zones:
        told.append("If it has none, change the days:")
        rows = tuple(
            (zone.label, _every(zone.planned_days), _every(zone.now_days)) for zone in zones
        )
        table = NoticeTable(("Zone", "This month's plan", "For now"), rows)
    return NoticeContent(
        subject=subject_line(f"Water {more} often for now: {place}"),
        summary=_weather(percent),
        sections=(
            NoticeSection("What to do", tuple(told), table),
            NoticeSection(
                "Please note", ("Next month's notice starts from the usual again.", _RULES)
            ),
        ),
    )


def heat_content(place: str, heat: HeatRun, system: System) -> NoticeContent:
    """Return what a client hears when it gets hot for days."""
    return NoticeContent(
        subject=subject_line(f"Hot days: {place}"),
        summary=heat.sentence(system),
        sections=(NoticeSection("What to do", (_HEAT_CARE, _RULES)),),
    )


def drought_content(
    place: str, stage: str, district: str, first: dt.date, rules: Sequence[str], system: System
) -> NoticeContent:
    """Return what a client hears when his water district restricts watering."""
    names = tuple(f"{rule}." if not rule.endswith(".") else rule for rule in rules)
    return NoticeContent(
        subject=subject_line(f"Watering is restricted: {place}"),
        summary=f"From {spelled(first, system)} {district} has its stage '{stage}' on.",
        sections=(
            NoticeSection("What holds now", names or ("Ask the district for its rules.",)),
            NoticeSection(
                "What to do",
                (
                    "Set no other days or hours than these. We will send settings that keep to "
                    "them; until then water only what would die.",
                ),
            ),
        ),
    )


def _weather(percent: int) -> str:
    if percent == _USUAL:
        return "The weather is as usual again: these days ask for 100 % of what a usual day does."
    weather = "drier and hotter" if percent > _USUAL else "cooler"
    return (
        f"It is {weather} than usual: these days ask for {percent} % of what a usual day of this "
        "month does."
    )


def _every(days: int) -> str:
    return "daily" if days == 1 else f"every {days} days"
