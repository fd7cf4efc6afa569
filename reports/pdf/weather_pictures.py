"""Pictures over days: ET0 and rain of the last weeks, and the water that the roots of a zone hold.

Nothing rests on colour alone: rain is a capped bar, ET0 and the store are lines, a watering is a
hatched bar, a limit is dashed, an unknown day is a gap with a cross at its foot.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Final
from xml.sax.saxutils import escape

from reportlab.graphics.renderSVG import drawToString
from reportlab.graphics.shapes import Drawing

from reports.domain.weather_pictures import DailyDepths, StoredWater
from reports.pdf.day_axis import DayAxis, draw_dates, draw_depths, scale_top_mm
from reports.pdf.fonts import BOLD, REGULAR
from reports.pdf.strokes import (
    DASHED,
    FINE,
    FIRM,
    HATCHING,
    NOTE_SIZE,
    Point,
    area,
    block,
    label,
    line,
    path,
    picture,
)
from reports.pdf.styles import PALE_WATER, QUIET, WASH
from reports.pdf.text import fitted, plain

_TITLE_SIZE: Final = 7.5
_LEFT: Final = 20.0
_KEY_GAP: Final = 9.0
_KEY_SIGN: Final = 10.0
_HATCH_STEP: Final = 2.2
_STRIP_HEIGHT: Final = 4.0
_CLOSED_LINE: Final = re.compile(r'd="M (\S+) L (\S+) Z"')
_FACES: Final = {
    REGULAR: "font-family: 'DejaVu Sans', Verdana, sans-serif",
    BOLD: "font-family: 'DejaVu Sans', Verdana, sans-serif; font-weight: bold",
}

Sign = Callable[[Drawing, Point], None]


def rain_and_et0_picture(content: DailyDepths, *, width: float, height: float) -> Drawing:
    """Draw the rain of each day as bars, and below it ET0 as a line on a scale of its own.

    One wet day would flatten ET0 if both stood on one scale. A hatched strip along the days marks
    those that were filled in.
    """
    drawing = picture(width, height)
    days = len(content.et0_mm)
    middle = 34.0 + (height - 56.0) * 0.45
    lower = DayAxis(_LEFT, width, 34.0, middle, days, scale_top_mm(*content.et0_mm))
    upper = DayAxis(
        _LEFT, width, middle + 16.0, height - 22.0, days, scale_top_mm(*content.rain_mm)
    )
    _title(drawing, content.title, width)
    draw_depths(drawing, upper, content.system, named="rain of a day")
    _bars(drawing, content.rain_mm, upper)
    _unknown(drawing, content.rain_mm, upper)
    draw_depths(drawing, lower, content.system, named="ET0 of a day")
    _lines(drawing, content.et0_mm, lower)
    _unknown(drawing, content.et0_mm, lower)
    _filled_strip(drawing, content.filled, lower)
    draw_dates(drawing, lower, content.first_date, content.system)
    keys = [("rain", _bar_sign), ("ET0: what well-watered grass would use", _line_sign)]
    if any(content.filled):
        keys.append(("filled in from neighbours", _strip_sign))
    if None in content.et0_mm or None in content.rain_mm:
        keys.append(("unknown", _unknown_sign))
    _keys(drawing, keys, y=12.0)
    source = fitted(content.source, width=width, size=NOTE_SIZE)
    drawing.add(label((0, 2.5), source, color=QUIET))
    return drawing


def stored_water_picture(content: StoredWater, *, width: float, height: float) -> Drawing:
    """Draw the store as an area up to its capacity, and rain and waterings hanging from above.

    The dashed line is the limit at which the readily available water is used up.
    """
    drawing = picture(width, height)
    days = len(content.stored_mm)
    middle = 22.0 + (height - 44.0) * 0.68
    store = DayAxis(_LEFT, width, 22.0, middle, days, content.capacity_mm * 1.04)
    top_mm = scale_top_mm(*content.rain_mm, *content.watered_mm)
    came_in = DayAxis(_LEFT, width, middle + 14.0, height - 22.0, days, top_mm)
    _title(drawing, content.title, width)
    draw_depths(drawing, came_in, content.system, named="came in on a day")
    _bars(drawing, content.rain_mm, came_in, share=0.45, start=0.05)
    _hatched_bars(drawing, content.watered_mm, came_in)
    _area(drawing, content.stored_mm, store)
    draw_depths(drawing, store, content.system, named="held by the roots")
    _lines(drawing, content.stored_mm, store)
    _level(drawing, store, content.capacity_mm, "full", above=1.5)
    _level(drawing, store, content.limit_mm, "below this the plants lack water", above=-6.5)
    _unknown(drawing, content.stored_mm, store)
    draw_dates(drawing, store, content.first_date, content.system)
    keys = [("rain", _bar_sign), ("watering, net", _hatch_sign), ("held", _line_sign)]
    if None in content.stored_mm:
        keys.append(("unknown", _unknown_sign))
    _keys(drawing, keys, y=2.5)
    return drawing


def svg_of(drawing: Drawing, title: str) -> bytes:
    """Return the picture as a document of its own, in UTF-8.

    It names typefaces that readers have, and bears its title for those who hear it read. Lines
    come closed from the renderer: there and back, which would fill the gaps of a dashed one.
    """
    svg: str = drawToString(drawing, svgAttrs={"xml:space": "preserve"})
    svg = _CLOSED_LINE.sub(r'd="M \1 L \2"', svg)
    svg = svg.replace("<desc>...</desc>", "", 1)
    for face, known_as in _FACES.items():
        svg = svg.replace(f'style="font-family: {face};', f'style="{known_as};')
    named = f"<title>{escape(plain(title))}</title>"
    return svg.replace("<title>...</title>", named, 1).encode()


def _title(drawing: Drawing, words: str, width: float) -> None:
    shown = fitted(words, width=width, size=_TITLE_SIZE, font=BOLD)
    drawing.add(label((0, drawing.height - 7.5), shown, size=_TITLE_SIZE, bold=True))


def _bars(
    drawing: Drawing,
    depths: Sequence[float | None],
    axis: DayAxis,
    *,
    start: float = 0.15,
    share: float = 0.7,
) -> None:
    for day, depth in enumerate(depths):
        if depth:
            corner = axis.at(day + start, 0)
            drawing.add(block(corner, axis.step * share, axis.y(depth) - axis.bottom, PALE_WATER))
            top = axis.y(depth)
            ends = (corner[0], top), (corner[0] + axis.step * share, top)
            drawing.add(line(*ends, FINE))


def _hatched_bars(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    for day, depth in enumerate(depths):
        if depth:
            corner = axis.at(day + 0.5, 0)
            _hatched(drawing, corner, axis.step * 0.45, axis.y(depth) - axis.bottom)


def _hatched(drawing: Drawing, corner: Point, width: float, height: float) -> None:
    """An outline filled with rising lines, each cut off where it leaves the rectangle."""
    x, y = corner
    for count in range(math.ceil((width + height) / _HATCH_STEP)):
        offset = count * _HATCH_STEP - height
        start, end = max(0.0, offset), min(width, offset + height)
        if end > start:
            ends = (x + start, y + start - offset), (x + end, y + end - offset)
            drawing.add(line(*ends, HATCHING))
    outline = [(x, y), (x, y + height), (x + width, y + height), (x + width, y)]
    drawing.add(path(outline, HATCHING))


def _known_runs(depths: Sequence[float | None]) -> Iterable[list[tuple[int, float]]]:
    """Yield the days in a row that are known, so that no line is drawn over an unknown one."""
    run: list[tuple[int, float]] = []
    for day, depth in enumerate(depths):
        if depth is None:
            if run:
                yield run
            run = []
        else:
            run.append((day, depth))
    if run:
        yield run


def _lines(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    for run in _known_runs(depths):
        points = [axis.at(day + 0.5, depth) for day, depth in run]
        if len(points) == 1:
            (x, y), half = points[0], axis.step * 0.3
            points = [(x - half, y), (x + half, y)]
        drawing.add(path(points, FIRM))


def _area(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    for run in _known_runs(depths):
        first, last = run[0][0], run[-1][0]
        outline = [axis.at(day + 0.5, depth) for day, depth in run]
        drawing.add(area([axis.at(first + 0.5, 0), *outline, axis.at(last + 0.5, 0)], WASH))


def _level(drawing: Drawing, axis: DayAxis, depth_mm: float, words: str, *, above: float) -> None:
    y = axis.y(depth_mm)
    drawing.add(line((axis.left, y), (axis.right, y), DASHED))
    drawing.add(label((axis.right, y + above), words, color=QUIET, anchor="end"))


def _filled_strip(drawing: Drawing, filled: Sequence[bool], axis: DayAxis) -> None:
    start = 0
    for is_filled, days in groupby(filled):
        count = len(list(days))
        if is_filled:
            _hatched(drawing, axis.at(start, 0), axis.step * count, _STRIP_HEIGHT)
        start += count


def _unknown(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    for day, depth in enumerate(depths):
        if depth is None:
            _cross(drawing, axis.at(day + 0.5, 0))


def _cross(drawing: Drawing, at: Point) -> None:
    x, y, arm = at[0], at[1] + 2.2, 1.4
    drawing.add(line((x - arm, y - arm), (x + arm, y + arm), FINE))
    drawing.add(line((x - arm, y + arm), (x + arm, y - arm), FINE))


def _keys(drawing: Drawing, keys: Sequence[tuple[str, Sign]], *, y: float) -> None:
    x = _LEFT
    for words, sign in keys:
        sign(drawing, (x, y))
        written = label((x + _KEY_SIGN + 2.5, y), words)
        drawing.add(written)
        x += _KEY_SIGN + 2.5 + written.getBounds()[2] - written.getBounds()[0] + _KEY_GAP


def _bar_sign(drawing: Drawing, at: Point) -> None:
    drawing.add(block(at, _KEY_SIGN, 4.5, PALE_WATER))
    drawing.add(line((at[0], at[1] + 4.5), (at[0] + _KEY_SIGN, at[1] + 4.5), FINE))


def _line_sign(drawing: Drawing, at: Point) -> None:
    drawing.add(line((at[0], at[1] + 2), (at[0] + _KEY_SIGN, at[1] + 2), FIRM))


def _hatch_sign(drawing: Drawing, at: Point) -> None:
    _hatched(drawing, at, _KEY_SIGN, 4.5)


def _strip_sign(drawing: Drawing, at: Point) -> None:
    _hatched(drawing, at, _KEY_SIGN, _STRIP_HEIGHT)


def _unknown_sign(drawing: Drawing, at: Point) -> None:
    _cross(drawing, (at[0] + _KEY_SIGN / 2, at[1]))
