"""What a notice says, in the form in which it is frozen when it is queued.

One shape serves every kind: a subject, a first sentence, sections of paragraphs and a table, and
entries for a calendar. Whoever renders it adds no fact.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from properties.domain.errors import InvalidInputError

LONGEST_SUBJECT: Final = 120
"""Longer ones are cut off in lists of mail (common practice)."""


@dataclass(frozen=True)
class NoticeTable:
    """A table as it is read: one heading for each column, rows of as many cells."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    def __post_init__(self) -> None:
        if any(len(row) != len(self.headings) for row in self.rows):
            raise InvalidInputError(
                "A row of the table has more or fewer cells than there are headings.",
                field="rows", code="crooked-table", remedy="Give one cell for each heading.",
            )  # fmt: skip


@dataclass(frozen=True)
class NoticeSection:
    """A part under a heading of its own; the table comes after the paragraphs."""

    heading: str
    paragraphs: tuple[str, ...] = ()
    table: NoticeTable | None = None


@dataclass(frozen=True)
class CalendarEntry:
    """A day for the calendar; the uid stays the same when the entry is told again."""

    uid: str
    date: dt.date
    summary: str
    description: str = ""


@dataclass(frozen=True)
class NoticeContent:
    """All that a notice says. `has_sheet`: a PDF sheet goes with it."""

    subject: str
    summary: str
    sections: tuple[NoticeSection, ...] = ()
    calendar: tuple[CalendarEntry, ...] = ()
    has_sheet: bool = False

    def __post_init__(self) -> None:
        if not self.subject.strip() or len(self.subject) > LONGEST_SUBJECT:
            raise InvalidInputError(
                f"A subject has 1 to {LONGEST_SUBJECT} letters; this one has {len(self.subject)}.",
                field="subject", code="subject-length", remedy="Give a shorter subject, or one.",
            )  # fmt: skip
        if not self.subject.isprintable():
            raise InvalidInputError(
                "A subject is one line.",
                field="subject", code="subject-line", remedy="Leave out line ends and controls.",
            )  # fmt: skip

    def as_json(self) -> dict[str, Any]:
        """Return it as JSON values; `content_of` is the way back."""
        values = asdict(self)
        for entry in values["calendar"]:
            entry["date"] = entry["date"].isoformat()
        plain: dict[str, Any] = json.loads(json.dumps(values))
        return plain

    def digest(self) -> str:
        """Return a name for just this content."""
        text = json.dumps(self.as_json(), sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()


def subject_line(words: str) -> str:
    """Return words as a subject: names come with line ends, and with spaces that do not break."""
    printable = "".join(letter if letter.isprintable() else " " for letter in words)
    return " ".join(printable.split())[:LONGEST_SUBJECT]


def content_of(values: Mapping[str, Any]) -> NoticeContent:
    """Return the content that `as_json` wrote."""
    return NoticeContent(
        subject=values["subject"],
        summary=values["summary"],
        sections=tuple(_section(section) for section in values["sections"]),
        calendar=tuple(
            CalendarEntry(**{**entry, "date": dt.date.fromisoformat(entry["date"])})
            for entry in values["calendar"]
        ),
        has_sheet=values["has_sheet"],
    )


def _section(values: Mapping[str, Any]) -> NoticeSection:
    table = values["table"]
    return NoticeSection(
        values["heading"],
        tuple(values["paragraphs"]),
        None
        if table is None
        else NoticeTable(tuple(table["headings"]), tuple(tuple(row) for row in table["rows"])),
    )
