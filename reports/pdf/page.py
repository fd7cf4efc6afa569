"""The sheet that a document is printed on: size, margins, running head and foot, page x of y."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Final

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Flowable, Frame, PageTemplate

from properties.domain.units import System
from reports.pdf.fonts import BOLD, REGULAR
from reports.pdf.styles import HAIRLINE, INK, QUIET
from reports.pdf.text import fitted, plain

_SIDE: Final = 17 * mm
_TOP: Final = 15 * mm
_BOTTOM: Final = 15 * mm
_SMALL: Final = 7.0
_ENDLESS: Final = 1e6
# What the count may cover, left, below, right of and above its anchor [pt].
_COUNT_BOX: Final = (-90, -5, 3, 12)


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What is the same on every page of a document."""

    title: str
    author: str
    subject: str
    running_head: str
    running_date: str
    foot: str
    system: System

    @property
    def size(self) -> tuple[float, float]:
        """Letter where people measure in inches, A4 elsewhere [pt]."""
        return LETTER if self.system == "us" else A4

    @property
    def text_width(self) -> float:
        """The width between the margins [pt]."""
        return self.size[0] - 2 * _SIDE

    @property
    def text_height(self) -> float:
        """The height between the margins [pt]."""
        return self.size[1] - _TOP - _BOTTOM


class NextPart(CondPageBreak):
    """Start a part of the document: on a new page after the first, later only for want of room."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        is_on_first_page = self.canv.getPageNumber() == 1
        return super().wrap(available_width, 0.0 if is_on_first_page else available_height)


def height_of(parts: Sequence[Flowable], width: float) -> float:
    """Return the height [pt] that parts take one below the other on an endless page."""
    return sum(
        part.wrap(width, _ENDLESS)[1] + part.getSpaceBefore() + part.getSpaceAfter()
        for part in parts
        if not isinstance(part, CondPageBreak)
    )


def document_bytes(sheet: Sheet, story: Sequence[Flowable]) -> bytes:
    """Lay the story out; equal sheets and stories give equal bytes."""
    buffer = BytesIO()
    template = BaseDocTemplate(
        buffer, pagesize=sheet.size, title=plain(sheet.title), author=plain(sheet.author),
        subject=plain(sheet.subject), lang="en", displayDocTitle=True, invariant=1,
        initialFontName=REGULAR,
    )  # fmt: skip
    template.addPageTemplates(_page_template(sheet))
    template.build(list(story), canvasmaker=_CountedCanvas)
    return buffer.getvalue()


class _CountedCanvas(Canvas):
    """Every page shows a form of its own, filled in at the end, when the pages are counted."""

    def save(self) -> None:
        count = self.getPageNumber() - 1
        for page in range(1, count + 1):
            self.beginForm(_count_form(page), *_COUNT_BOX)
            self.setFont(REGULAR, _SMALL)
            self.setFillColor(QUIET)
            self.drawRightString(0, 0, f"Page {page} of {count}")
            self.endForm()
        super().save()


def _count_form(page: int) -> str:
    return f"page-{page}-of-all"


def _page_template(sheet: Sheet) -> PageTemplate:
    width, height = sheet.size
    frame = Frame(
        _SIDE, _BOTTOM, width - 2 * _SIDE, height - _TOP - _BOTTOM,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip

    def decorate(canvas: Canvas, _template: BaseDocTemplate) -> None:
        canvas.saveState()
        if canvas.getPageNumber() > 1:
            _draw_head(canvas, sheet)
        _draw_foot(canvas, sheet)
        canvas.restoreState()

    return PageTemplate(id="page", frames=[frame], onPage=decorate, pagesize=sheet.size)


def _draw_head(canvas: Canvas, sheet: Sheet) -> None:
    left, right, y = _SIDE, sheet.size[0] - _SIDE, sheet.size[1] - 11 * mm
    canvas.setFillColor(INK)
    canvas.setFont(BOLD, _SMALL)
    canvas.drawString(
        left, y, fitted(sheet.running_head, width=right - left - 50 * mm, size=_SMALL, font=BOLD)
    )
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, _SMALL)
    canvas.drawRightString(right, y, plain(sheet.running_date))


def _draw_foot(canvas: Canvas, sheet: Sheet) -> None:
    left, right, y = _SIDE, sheet.size[0] - _SIDE, 9 * mm
    canvas.setStrokeColor(HAIRLINE)
    canvas.setLineWidth(0.5)
    canvas.line(left, y + 3.6 * mm, right, y + 3.6 * mm)
    canvas.setFillColor(QUIET)
    canvas.setFont(REGULAR, _SMALL)
    canvas.drawString(left, y, fitted(sheet.foot, width=right - left - 30 * mm, size=_SMALL))
    canvas.translate(right, y)
    canvas.doForm(_count_form(canvas.getPageNumber()))
