"""The monthly watering notice: what to change on the controller, what it was, and why.

The month's plan stays what a usual year asks for; the notice tells the step from what is set now. A
client who set his controller himself is asked and not told, and of the same change only once.
"""

from __future__ import annotations

import calendar
import datetime as dt
from collections.abc import Sequence
from typing import Final

from properties.domain.units import System
from scheduling.domain.monthly_facts import ControllerSteps, MonthlyFacts
from scheduling.domain.monthly_sections import controller_sections
from scheduling.domain.notice_content import (
    CalendarEntry,
    NoticeContent,
    NoticeSection,
    subject_line,
)
from scheduling.domain.notice_words import NoticeWords, counted
from scheduling.domain.weather_words import shown

LEAD_DAYS: Final = 3
"""A notice goes out so many days before its month, and in an outage as long as the month lasts."""
FIRST_DAYS: Final = 10
"""Who was not told of the month before waits for the next notice, if it is due sooner than that."""

_ABOUT_THE_SAME: Final = 0.05  # common practice: less than what a seasonal percentage can be set to
_WHOLE: Final = 100


def next_due(today: dt.date) -> dt.date:
    """Return the day after today on which the next notice becomes due."""
    last = calendar.monthrange(today.year, today.month)[1]
    due = today.replace(day=last - LEAD_DAYS + 1)
    return due if today < due else next_due(due + dt.timedelta(days=LEAD_DAYS))


def period_due(today: dt.date, *, is_first: bool = False) -> dt.date:
    """Return the first day of the month that a notice is due for: the coming one near its end.

    Parameters
    ----------
    today : by the clock of the property.
    is_first : nobody told of the month before; so that no two notices come within days, the running
        month is left out when the next one is due in fewer than `FIRST_DAYS`.
    """
    days = calendar.monthrange(today.year, today.month)[1]
    first = today.replace(day=1)
    is_near_end = today.day > days - LEAD_DAYS
    is_late = is_first and (next_due(today) - today).days < FIRST_DAYS
    return first + dt.timedelta(days=days) if is_near_end or is_late else first


def month_before(first: dt.date) -> dt.date:
    """Return the first day of the month before one."""
    return (first - dt.timedelta(days=1)).replace(day=1)


def may_begin(today: dt.date) -> bool:
    """Whether the month that is due now can be a client's first one."""
    return period_due(today) == period_due(today, is_first=True)


def monthly_content(facts: MonthlyFacts, system: System, words: NoticeWords) -> NoticeContent:
    """Return what the client hears for a month.

    Parameters
    ----------
    facts : see there; zones without a plan do not stand in it.
    system : units of the reader.
    words : of his language.
    """
    is_told = any(each.changes for each in facts.told)
    sections = [
        section
        for each in facts.controllers
        for section in controller_sections(each, facts, system, words)
    ]
    heading = _heading(facts, words).format(month=words.month(facts.first))
    subject = words.subjects.subject.format(heading=heading, place=facts.place)
    return NoticeContent(
        subject=subject_line(subject),
        summary=" ".join((_why(facts, system, words), *_gist(facts, words))),
        sections=(*sections, _watch(facts, words, is_told=is_told)),
        calendar=_entries(facts, words) if is_told else (),
        has_sheet=True,
    )


def _heading(facts: MonthlyFacts, words: NoticeWords) -> str:
    subjects = words.subjects
    changed = [each for each in facts.told if each.changes]
    if not changed:
        return _own_heading(facts, words)
    if _goes_off(facts):
        return subjects.off
    if all(each.is_new for each in changed):
        return subjects.first
    turn = _turn(changed)
    if turn is None or abs(turn) < _ABOUT_THE_SAME:
        return subjects.other
    return subjects.more if turn > 0 else subjects.less


def _goes_off(facts: MonthlyFacts) -> bool:
    """Whether nothing runs in the month, on no controller, and the client is told so."""
    return facts.told == facts.controllers and not any(each.week_min_then for each in facts.told)


def _own_heading(facts: MonthlyFacts, words: NoticeWords) -> str:
    """The heading where there is nothing to tell: a question, our numbers, or that all stays."""
    if any(each.is_asked for each in facts.controllers):
        return words.subjects.asked
    if any(each.changes for each in facts.controllers):
        return words.subjects.own
    return words.subjects.same


def _turn(controllers: Sequence[ControllerSteps]) -> float | None:
    """By what share the minutes of a week change; None where it is not known what runs."""
    known = [each.week_min for each in controllers if each.week_min is not None]
    if len(known) < len(controllers):
        return None
    before, after = sum(was for was, _ in known), sum(then for _, then in known)
    if not before:
        return 1.0 if after else 0.0
    return after / before - 1.0


def _weather_turn(facts: MonthlyFacts) -> float:
    return facts.et0_mm / facts.et0_before_mm - 1.0 if facts.et0_before_mm > 0.0 else 0.0


def _why(facts: MonthlyFacts, system: System, words: NoticeWords) -> str:
    """The weather in one sentence."""
    turn = _weather_turn(facts)
    if abs(turn) < _ABOUT_THE_SAME:
        sentence = words.whys.same
    else:
        sentence = words.whys.warmer if turn > 0 else words.whys.cooler
    return sentence.format(
        month=words.month(facts.first),
        before=words.month(facts.first - dt.timedelta(days=1)),
        depth=shown(facts.et0_mm, "depth", system),
        percent=round(abs(turn) * _WHOLE),
    )


def _gist(facts: MonthlyFacts, words: NoticeWords) -> list[str]:
    """What there is to do, in as many sentences as there are different things."""
    whys, told = words.whys, [each for each in facts.told if each.changes]
    asked = [each for each in facts.controllers if each.is_asked]
    gist = [whys.asked.format(controllers=_names(asked, words))] if asked else []
    if told:
        return [*gist, *_against_weather(facts, told, words), _to_do(told, words)]
    if gist:
        return gist
    if facts.told or not any(each.changes for each in facts.controllers):
        return [whys.nothing]
    return [whys.left_alone.format(controllers=_names(facts.controllers, words))]


def _names(controllers: Sequence[ControllerSteps], words: NoticeWords) -> str:
    return words.settings.list_gap.join(each.name for each in controllers)


def _to_do(told: Sequence[ControllerSteps], words: NoticeWords) -> str:
    if any(each.is_new for each in told):
        return words.whys.first
    settings = sum(each.settings for each in told)
    zones = sum(each.changed_zones for each in told)
    if not settings:
        return counted(words.whys.zones, zones)
    return counted(words.whys.settings, settings + zones)


def _against_weather(
    facts: MonthlyFacts, told: Sequence[ControllerSteps], words: NoticeWords
) -> list[str]:
    """Why the minutes go another way than the weather does: what was set did not suit."""
    turn = _mending(facts, told)
    if not turn:
        return []
    return [words.whys.set_too_little if turn > 0 else words.whys.set_too_much]


def _mending(facts: MonthlyFacts, told: Sequence[ControllerSteps]) -> float:
    """By what share the minutes change where the weather does not ask for it; else 0."""
    turn, weather = _turn(told) if told else None, _weather_turn(facts)
    if turn is None or abs(turn) < _ABOUT_THE_SAME or not any(each.settings for each in told):
        return 0.0
    goes_along = abs(weather) >= _ABOUT_THE_SAME and turn * weather > 0
    return 0.0 if goes_along else turn


def _watch(facts: MonthlyFacts, words: NoticeWords, *, is_told: bool) -> NoticeSection:
    """What to watch: thirst as it gets warmer or where much was taken away, else wetness."""
    if _goes_off(facts):
        return NoticeSection(words.watch.heading, (words.watch.off,))
    changed = [each for each in facts.told if each.changes]
    mending = _mending(facts, changed)
    fears_thirst = mending < 0 if mending else _weather_turn(facts) > 0
    paragraphs = [words.watch.drier if fears_thirst else words.watch.wetter]
    if is_told and any(each.fitted for each in changed):
        paragraphs.insert(0, words.watch.first_run)
    return NoticeSection(words.watch.heading, (*paragraphs, words.watch.rules))


def _entries(facts: MonthlyFacts, words: NoticeWords) -> tuple[CalendarEntry, ...]:
    month = words.month(facts.first)
    return (
        CalendarEntry(
            uid=f"{facts.property_id}-{facts.first:%Y-%m}",
            date=facts.from_date,
            summary=words.watch.entry.format(month=month),
            description=words.watch.entry_more.format(place=facts.place),
        ),
    )
