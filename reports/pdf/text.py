"""The one door through which words reach a page.

reportlab's paragraphs parse mark-up: a name with an ampersand would lose letters, and an image tag
would embed a file of the server. So every word is cleaned and escaped here, and nothing else in the
reports makes a paragraph.
"""

from __future__ import annotations

import logging
import unicodedata
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape

from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, Paragraph

from reports.pdf.fonts import REGULAR, printable

logger = logging.getLogger(__name__)

_SUBSTITUTE: Final = "?"
# Controls, invisible direction marks, lone surrogates, private use and unassigned code points.
_UNPRINTABLE: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
_LINE_ENDS: Final = frozenset("\t\n\v\f\r\u0085\u2028\u2029")


@dataclass(frozen=True)
class Strong:
    """Words that a paragraph sets in bold."""

    words: str


def plain(words: str) -> str:
    """Return the words with nothing in them that the typeface cannot show.

    Tabs and line ends become spaces and other control characters vanish; a letter without a glyph
    becomes its nearest plain letters, or a question mark.
    """
    return "".join(_shown(char) for char in words)


def paragraph(style: ParagraphStyle, *parts: str | Strong) -> Paragraph:
    """Set the parts as one paragraph, every character literally."""
    return Paragraph("".join(_marked(part) for part in parts), style)


def heading(style: ParagraphStyle, words: str, *, level: int = 0) -> Paragraph:
    """Set a heading that also stands in the document's outline."""
    made = _Heading(escape(plain(words)), style)
    made.entry = (plain(words), level)
    return made


def fitted(words: str, *, width: float, size: float, font: str = REGULAR) -> str:
    """Return the words on one line of that width [pt], cut with an ellipsis where too long."""
    shown = plain(words)
    if stringWidth(shown, font, size) <= width:
        return shown
    low, high = 0, len(shown)
    while low < high:
        middle = (low + high + 1) // 2
        fits = stringWidth(shown[:middle] + "…", font, size) <= width
        low, high = (middle, high) if fits else (low, middle - 1)
    return shown[:low].rstrip() + "…"


class _Heading(Paragraph):
    """A paragraph that enters the outline as it is drawn; of a split one, its first part."""

    entry: tuple[str, int] | None = None

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:  # noqa: N803
        parts = super().split(availWidth, availHeight)
        for first in parts[:1]:
            if isinstance(first, _Heading):
                first.entry = self.entry
        return parts

    def draw(self) -> None:
        if self.entry:
            title, level = self.entry
            key = f"{level}-{title}"
            self.canv.bookmarkHorizontal(key, 0, self.height)
            self.canv.addOutlineEntry(title, key, level)
        super().draw()


def _marked(part: str | Strong) -> str:
    if isinstance(part, Strong):
        return f"<b>{escape(plain(part.words))}</b>"
    return escape(plain(part))


def _shown(char: str) -> str:
    if char in _LINE_ENDS:
        return " "
    if unicodedata.category(char) in _UNPRINTABLE:
        return ""
    if ord(char) in printable():
        return char
    return _nearest(char)


def _nearest(char: str) -> str:
    logger.warning("The typeface has no glyph for U+%04X.", ord(char))
    letters = [
        part for part in unicodedata.normalize("NFKD", char) if not unicodedata.combining(part)
    ]
    if letters and all(ord(letter) in printable() for letter in letters):
        return "".join(letters)
    return "" if unicodedata.combining(char) else _SUBSTITUTE
