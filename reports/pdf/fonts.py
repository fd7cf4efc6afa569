"""The typeface of every document: shipped with the product and embedded, so that names never depend
on what a reader has installed."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR: Final = "DejaVuSans"
BOLD: Final = "DejaVuSans-Bold"
_FOLDER: Final = Path(__file__).resolve().parent.parent / "fonts"


@cache
def printable() -> frozenset[int]:
    """Register both faces and return the code points for which both of them have a glyph."""
    faces = [TTFont(name, str(_FOLDER / f"{name}.ttf")) for name in (REGULAR, BOLD)]
    for face in faces:
        pdfmetrics.registerFont(face)
    addMapping(REGULAR, 0, 0, REGULAR)
    addMapping(REGULAR, 1, 0, BOLD)
    return frozenset.intersection(*(frozenset(face.face.charToGlyph) for face in faces))
