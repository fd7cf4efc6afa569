"""The office's mail of a day: what is to be done now, by kind."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Final

from properties.domain.units import System
from scheduling.domain.notice_content import NoticeContent, NoticeSection
from scheduling.domain.reminder_rules import ReminderKind
from scheduling.domain.reminder_words import LineFacts, reminder_line
from scheduling.domain.reminder_words_en import DIGEST_EN

MOST_LINES: Final = 100
"""More than that nobody reads in a mail; the list has the rest."""

_WORDS: Final = {"en": DIGEST_EN}


def digest_content(
    lines: Sequence[LineFacts], *, count: int, still_open: int, system: System, language: str = "en"
) -> NoticeContent:
    """Return the office's mail.

    Parameters
    ----------
    lines : what is told today, or as many of it as are read.
    count : how many are told today.
    still_open : how many reminders the list has in all.
    system, language : of the reader.
    """
    words, order = _WORDS[language], list(ReminderKind)
    shown = sorted(lines[:MOST_LINES], key=lambda each: (order.index(each.kind), each.due_date))
    sections = [
        NoticeSection(
            words.headings[kind],
            tuple(reminder_line(each, system, language=language) for each in of_kind),
        )
        for kind, of_kind in groupby(shown, key=lambda each: each.kind)
    ]
    numbers = {"count": count, "open": still_open, "left": count - len(shown)}
    summary = (words.one if count == 1 else words.many).format(**numbers)
    rest = words.left.format(**numbers) if count > len(shown) else ""
    return NoticeContent(
        subject=words.subject.format(**numbers),
        summary=f"{summary} {rest}".strip(),
        sections=(*sections, NoticeSection(words.list_heading, (words.list_words,))),
    )
