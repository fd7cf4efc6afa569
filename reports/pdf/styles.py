"""How documents look: one ink, one water colour that reads as dark grey, a small scale of sizes."""

from __future__ import annotations

from typing import Any, Final

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle

from reports.pdf.fonts import BOLD, REGULAR, printable

INK: Final = HexColor(0x1B2126)
QUIET: Final = HexColor(0x59626A)
HAIRLINE: Final = HexColor(0xC4CACF)
WATER: Final = HexColor(0x1D5B79)
PALE_WATER: Final = HexColor(0xB9D3DF)
WASH: Final = HexColor(0xEEF3F5)
PAPER: Final = HexColor(0xFFFFFF)

printable()  # Styles measure text, so their faces must be registered first.


def _style(name: str, size: float, leading: float, **more: Any) -> ParagraphStyle:
    settings: dict[str, Any] = {"fontName": REGULAR, "textColor": INK, **more}
    return ParagraphStyle(name, fontSize=size, leading=leading, **settings)


TITLE: Final = _style("title", 19, 21.5, fontName=BOLD, spaceAfter=1)
KICKER: Final = _style("kicker", 8.5, 11, textColor=WATER, fontName=BOLD)
HEADLINE: Final = _style("headline", 11.2, 14.5)
SECTION: Final = _style("section", 10.5, 13.5, fontName=BOLD, spaceBefore=5.5, spaceAfter=2)
BODY: Final = _style("body", 8, 10.4)
CELL: Final = _style("cell", 8, 10)
CELL_RIGHT: Final = _style("cell-right", 8, 10, alignment=TA_RIGHT)
LABEL: Final = _style("label", 6.8, 8.6, textColor=QUIET)
LABEL_RIGHT: Final = _style("label-right", 6.8, 8.6, textColor=QUIET, alignment=TA_RIGHT)
META_RIGHT: Final = _style("meta-right", 8, 11, alignment=TA_RIGHT)
TEXT: Final = _style("text", 8, 10.2, spaceAfter=2.5)
SMALL: Final = _style("small", 7.5, 9.6)
NOTE: Final = _style("note", 7.5, 9.6, spaceAfter=2)
QUIET_NOTE: Final = _style("quiet-note", 7.5, 9.6, textColor=QUIET)

# The ground of every table: text flush with the margins, and no cell, not even an empty one, in
# reportlab's default typeface, which is not embedded.
FLUSH: Final[list[tuple[Any, ...]]] = [
    ("FONT", (0, 0), (-1, -1), REGULAR, 6.8),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
]
