"""The sheet that goes with a notice: what to set, to hang beside the controller."""

from __future__ import annotations

from typing import Final

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    HRFlowable,
    KeepTogether,
    Spacer,
    Table,
)

from properties.domain.units import System
from reports.domain.letters import Letter
from reports.pdf.page import Sheet, document_bytes
from reports.pdf.styles import BODY, CELL, FLUSH, HAIRLINE, HEADLINE, INK, KICKER, SECTION, TITLE
from reports.pdf.text import Strong, heading, paragraph
from scheduling.domain.notice_content import NoticeSection, NoticeTable

# Larger than in other documents: it is read standing, at arm's length.
_BODY: Final = ParagraphStyle("sheet-body", BODY, fontSize=9.5, leading=12.5)
_CELL: Final = ParagraphStyle("sheet-cell", CELL, fontSize=10, leading=12.5)
_FIRST_COLUMN: Final = 1.4  # of the others, since names are longer than settings
_ROWS_TOGETHER: Final = 14
_RULES: Final = [
    *FLUSH,
    ("LINEBELOW", (0, 0), (-1, -1), 0.5, HAIRLINE),
    ("RIGHTPADDING", (0, 0), (-1, -1), 8),
]


def render_notice_sheet(letter: Letter, *, place: str, date: str, system: System) -> bytes:
    """Turn a letter into a sheet; equal letters give equal bytes."""
    sheet = Sheet(
        title=letter.content.subject,
        author=letter.company_name,
        subject=place,
        running_head=letter.content.subject,
        running_date=date,
        foot=" · ".join(filter(None, (letter.company_name, letter.contact_line))),
        system=system,
    )
    story: list[Flowable] = [
        paragraph(KICKER, place),
        heading(TITLE, letter.content.subject),
        paragraph(_BODY, date),
        HRFlowable(width="100%", thickness=1.2, color=INK, spaceBefore=2, spaceAfter=6),
        paragraph(HEADLINE, letter.content.summary),
    ]
    for section in letter.content.sections:
        story += _section(section, sheet.text_width)
    return document_bytes(sheet, story)


def _section(section: NoticeSection, width: float) -> list[Flowable]:
    """A section on one page if it is short; a long table begins below some of its rows."""
    parts: list[Flowable] = [heading(SECTION, section.heading, level=1)]
    parts += [paragraph(_BODY, words) for words in section.paragraphs]
    if section.table is not None:
        parts += [Spacer(0, 1 * mm), _table(section.table, width)]
    if section.table is None or len(section.table.rows) <= _ROWS_TOGETHER:
        return [KeepTogether(parts)]
    return [CondPageBreak(50 * mm), *parts]


def _table(table: NoticeTable, width: float) -> Table:
    head = [paragraph(_CELL, Strong(words)) for words in table.headings]
    rows = [[paragraph(_CELL, words) for words in row] for row in table.rows]
    shares = [_FIRST_COLUMN, *([1.0] * (len(head) - 1))]
    widths = [width * share / sum(shares) for share in shares]
    return Table([head, *rows], colWidths=widths, repeatRows=1, style=_RULES, hAlign="LEFT")
