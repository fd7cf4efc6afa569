"""The sheet that goes with a notice: what to set, to hang beside the controller."""

from __future__ import annotations

from typing import Final

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, HRFlowable, Spacer, Table

from properties.domain.units import System
from reports.domain.letters import Letter
from reports.pdf.page import Sheet, document_bytes
from reports.pdf.styles import BODY, CELL, FLUSH, HAIRLINE, HEADLINE, INK, KICKER, SECTION, TITLE
from reports.pdf.text import Strong, heading, paragraph
from scheduling.domain.notice_content import NoticeSection, NoticeTable

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
        paragraph(BODY, date),
        HRFlowable(width="100%", thickness=1.2, color=INK, spaceBefore=2, spaceAfter=6),
        paragraph(HEADLINE, letter.content.summary),
    ]
    for section in letter.content.sections:
        story += _section(section, sheet.text_width)
    return document_bytes(sheet, story)


def _section(section: NoticeSection, width: float) -> list[Flowable]:
    parts: list[Flowable] = [heading(SECTION, section.heading, level=1)]
    parts += [paragraph(BODY, words) for words in section.paragraphs]
    if section.table is not None:
        parts += [Spacer(0, 1.5 * mm), _table(section.table, width)]
    return parts


def _table(table: NoticeTable, width: float) -> Table:
    head = [paragraph(CELL, Strong(words)) for words in table.headings]
    rows = [[paragraph(CELL, words) for words in row] for row in table.rows]
    return Table(
        [head, *rows], colWidths=[width / len(head)] * len(head), repeatRows=1, style=_RULES,
        hAlign="LEFT",
    )  # fmt: skip
