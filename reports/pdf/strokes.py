"""The few strokes that all pictures are drawn with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from reportlab.graphics.shapes import Drawing, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import Color

from reports.pdf.fonts import BOLD, REGULAR
from reports.pdf.styles import HAIRLINE, INK, QUIET, WATER
from reports.pdf.text import plain

Point = tuple[float, float]

NOTE_SIZE: Final = 6.2


@dataclass(frozen=True)
class Pen:
    """A colour, a width [pt] and, for a broken line, the lengths of dash and gap [pt]."""

    color: Color
    width: float
    dash: tuple[float, float] | None = None


FINE: Final = Pen(INK, 0.7)
HATCHING: Final = Pen(INK, 0.5)
SURFACE: Final = Pen(WATER, 0.7)
GRID: Final = Pen(HAIRLINE, 0.4)
BASE: Final = Pen(QUIET, 0.6)
FIRM: Final = Pen(INK, 1.1)
DASHED: Final = Pen(INK, 0.8, (3.0, 2.0))
DOTTED: Final = Pen(INK, 1.1, (1.1, 2.0))


def picture(width: float, height: float) -> Drawing:
    """Start an empty picture, whose default typeface is one that is embedded."""
    return Drawing(width, height, initialFontName=REGULAR)


def line(start: Point, end: Point, pen: Pen) -> Line:
    """Draw a straight line."""
    stroke = Line(*start, *end)
    stroke.strokeColor, stroke.strokeWidth = pen.color, pen.width
    if pen.dash:
        stroke.strokeDashArray = pen.dash
    return stroke


def path(points: list[Point], pen: Pen) -> PolyLine:
    """Draw an open line through the points."""
    stroke = PolyLine([ordinate for point in points for ordinate in point])
    stroke.strokeColor, stroke.strokeWidth = pen.color, pen.width
    if pen.dash:
        stroke.strokeDashArray = pen.dash
    return stroke


def block(corner: Point, width: float, height: float, color: Color) -> Rect:
    """Fill a rectangle, without an outline."""
    shape = Rect(*corner, width, height)
    shape.fillColor, shape.strokeColor = color, None
    return shape


def area(points: list[Point], color: Color) -> Polygon:
    """Fill what the points surround, without an outline."""
    shape = Polygon([ordinate for point in points for ordinate in point])
    shape.fillColor, shape.strokeColor = color, None
    return shape


def label(
    at: Point,
    words: str,
    *,
    size: float = NOTE_SIZE,
    bold: bool = False,
    color: Color = INK,
    anchor: Literal["start", "middle", "end"] = "start",
) -> String:
    """Write one line of words."""
    shape = String(*at, plain(words))
    shape.fontName, shape.fontSize = BOLD if bold else REGULAR, size
    shape.fillColor, shape.textAnchor = color, anchor
    return shape
