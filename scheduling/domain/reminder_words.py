"""What the reader of a reminder hears, by language.

A line is what the office reads in its list; a mail is what a client or a technician gets. Nothing
here names another person, a gate code or how to get in.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final
from uuid import UUID

from properties.domain.units import System
from scheduling.domain.notice_content import (
    CalendarEntry,
    NoticeContent,
    NoticeSection,
    NoticeTable,
    subject_line,
)
from scheduling.domain.reminder_rules import Audience, ReminderKind
from scheduling.domain.reminder_words_en import (
    LINES_EN,
    MAILS_EN,
    MUST_BE_HOME_EN,
    VISITS_EN,
    MailWords,
)
from scheduling.domain.weather_words import FrostAhead, spelled

_LINES: Final = {"en": LINES_EN}
_MAILS: Final = {"en": MAILS_EN}
_VISITS: Final = {"en": VISITS_EN}
_MUST_BE_HOME: Final = {"en": MUST_BE_HOME_EN}


@dataclass(frozen=True)
class VisitLine:
    """A visit as its technician reads it: no access notes, no gate code."""

    kind: str
    place: str
    address: str


@dataclass(frozen=True, kw_only=True)
class Cause:
    """Why somebody is to be reminded.

    `key` is the same as long as the cause is; `whose`: the property, or the colleague; `what`: the
    zone, ticket, controller, licence or kind of visit; `subject`: the rows behind it by their names
    as foreign keys.
    """

    kind: ReminderKind
    key: str
    due_date: dt.date
    whose: str
    what: str = ""
    since: dt.date | None = None
    subject: Mapping[str, UUID] = field(default_factory=dict)
    visits: tuple[VisitLine, ...] = ()
    frosts: tuple[FrostAhead, ...] = ()
    must_be_home: bool = False
    client_may_hear: bool = True


@dataclass(frozen=True)
class LineFacts:
    """What a line of the office's list is made of."""

    kind: ReminderKind
    whose: str
    what: str
    due_date: dt.date
    since: dt.date | None = None


def reminder_line(facts: LineFacts, system: System, *, language: str = "en") -> str:
    """Return a reminder in one sentence."""
    words = _filled(facts.whose, facts.what, facts.due_date, facts.since, system)
    return _LINES[language][facts.kind].format(**words)


def reminder_mail(
    cause: Cause, audience: Audience, system: System, *, today: dt.date, language: str = "en"
) -> NoticeContent:
    """Return the mail of a reminder.

    Parameters
    ----------
    cause : see there.
    audience : the client or the technician; the office has its list.
    system : units of the reader.
    today : the day on which it is told; what lies before it is not for the calendar.
    language : of the reader.
    """
    mail = _MAILS[language][cause.kind, audience]
    words = _filled(cause.whose, cause.what, cause.due_date, cause.since, system)
    sentences = [frost.sentence(system) for frost in cause.frosts]
    summary = sentences[0] if sentences else mail.summary.format(**words)
    home = (_MUST_BE_HOME[language],) if cause.must_be_home else ()
    paragraphs = (*sentences[1:], *home, *(each.format(**words) for each in mail.paragraphs))
    return NoticeContent(
        subject=subject_line(mail.subject.format(**words)),
        summary=summary,
        sections=(NoticeSection(mail.heading, paragraphs, _table(cause.visits, language)),),
        calendar=_entries(cause, audience, mail, words, today),
    )


def _filled(
    whose: str, what: str, due_date: dt.date, since: dt.date | None, system: System
) -> dict[str, str]:
    return {
        "whose": whose,
        "what": what,
        "due": spelled(due_date, system),
        "due_in_full": in_full(due_date, system),
        "since": in_full(since, system) if since else "",
    }


def in_full(day: dt.date, system: System) -> str:
    """Return a day with its year, as the reader writes it."""
    comma = "," if system == "us" else ""
    return f"{spelled(day, system)}{comma} {day.year}"


def _table(visits: Sequence[VisitLine], language: str) -> NoticeTable | None:
    if not visits:
        return None
    rows = tuple((visit.kind, visit.place, visit.address) for visit in visits)
    return NoticeTable(_VISITS[language], rows)


def _entries(
    cause: Cause, audience: Audience, mail: MailWords, words: Mapping[str, str], today: dt.date
) -> tuple[CalendarEntry, ...]:
    """Return the entry of the date, if it is one to keep that is not gone by."""
    date = cause.frosts[0].first_date if cause.frosts else cause.due_date
    if not mail.calendar or date < today:
        return ()
    visit = cause.subject.get("visit")
    return (
        CalendarEntry(
            uid=f"{cause.kind}:{visit}:{audience}" if visit else f"{cause.key}:{audience}",
            date=date,
            summary=mail.calendar.format(**words),
            description=cause.whose if audience is Audience.CLIENT else "",
        ),
    )
