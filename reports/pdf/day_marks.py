"""Marks of days and what they are called: bars, lines, crosses, and the legend of a picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Final

from reportlab.graphics.shapes import Drawing

from reports.pdf.day_axis import DayAxis
from reports.pdf.strokes import (
    DOTTED,
    FINE,
    FIRM,
    HATCHING,
    Pen,
    Point,
    area,
    block,
    label,
    line,
    path,
)
from reports.pdf.styles import PALE_WATER, QUIET, WASH

LEFT: Final = 20.0
_KEY_GAP: Final = 9.0
_KEY_SIGN: Final = 10.0
_HATCH_STEP: Final = 2.2
_STRIP_HEIGHT: Final = 4.0
_USUAL_HEIGHT: Final = 2.2

Sign = Callable[[Drawing, Point], None]


def bars(
    drawing: Drawing,
    depths: Sequence[float | None],
    axis: DayAxis,
    *,
    start: float = 0.15,
    share: float = 0.7,
) -> None:
    """Draw each day's depth as a capped bar."""
    for day, depth in enumerate(depths):
        if depth:
            corner = axis.at(day + start, 0)
            drawing.add(block(corner, axis.step * share, axis.y(depth) - axis.bottom, PALE_WATER))
            top = axis.y(depth)
            ends = (corner[0], top), (corner[0] + axis.step * share, top)
            drawing.add(line(*ends, FINE))


def hatched_bars(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    """Draw each day's depth as a hatched bar, right of that of the rain."""
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


def lines(
    drawing: Drawing,
    depths: Sequence[float | None],
    axis: DayAxis,
    pen: Pen = FIRM,
    *,
    first: int = 0,
) -> None:
    """Draw the known depths as lines, from the day `first` on."""
    for run in _known_runs(depths[first:]):
        points = [axis.at(first + day + 0.5, depth) for day, depth in run]
        if len(points) == 1:
            (x, y), half = points[0], axis.step * 0.3
            points = [(x - half, y), (x + half, y)]
        drawing.add(path(points, pen))


def filled_area(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    """Fill what lies below the known depths."""
    for run in _known_runs(depths):
        first, last = run[0][0], run[-1][0]
        outline = [axis.at(day + 0.5, depth) for day, depth in run]
        drawing.add(area([axis.at(first + 0.5, 0), *outline, axis.at(last + 0.5, 0)], WASH))


def filled_strip(drawing: Drawing, filled: Sequence[bool], axis: DayAxis) -> None:
    """Hatch the foot of the filled days."""
    start = 0
    for is_filled, days in groupby(filled):
        count = len(list(days))
        if is_filled:
            _hatched(drawing, axis.at(start, 0), axis.step * count, _STRIP_HEIGHT)
        start += count


def usual_bar(drawing: Drawing, usual: Sequence[bool], axis: DayAxis) -> None:
    """Draw a bar along the foot of the days on the usual ET0."""
    for day, is_usual in enumerate(usual):
        if is_usual:
            drawing.add(block(axis.at(day, 0), axis.step, _USUAL_HEIGHT, QUIET))


def unknown(drawing: Drawing, depths: Sequence[float | None], axis: DayAxis) -> None:
    """Draw a cross at the foot of each unknown day."""
    for day, depth in enumerate(depths):
        if depth is None:
            _cross(drawing, axis.at(day + 0.5, 0))


def _cross(drawing: Drawing, at: Point) -> None:
    x, y, arm = at[0], at[1] + 2.2, 1.4
    drawing.add(line((x - arm, y - arm), (x + arm, y + arm), FINE))
    drawing.add(line((x - arm, y + arm), (x + arm, y - arm), FINE))


def legend(drawing: Drawing, keys: Sequence[tuple[str, Sign]], *, y: float) -> None:
    """Draw the legend."""
    x = LEFT
    for words, sign in keys:
        sign(drawing, (x, y))
        written = label((x + _KEY_SIGN + 2.5, y), words)
        drawing.add(written)
        x += _KEY_SIGN + 2.5 + written.getBounds()[2] - written.getBounds()[0] + _KEY_GAP


def bar_sign(drawing: Drawing, at: Point) -> None:
    drawing.add(block(at, _KEY_SIGN, 4.5, PALE_WATER))
    drawing.add(line((at[0], at[1] + 4.5), (at[0] + _KEY_SIGN, at[1] + 4.5), FINE))


def line_sign(drawing: Drawing, at: Point) -> None:
    drawing.add(line((at[0], at[1] + 2), (at[0] + _KEY_SIGN, at[1] + 2), FIRM))


def hatch_sign(drawing: Drawing, at: Point) -> None:
    _hatched(drawing, at, _KEY_SIGN, 4.5)


def strip_sign(drawing: Drawing, at: Point) -> None:
    _hatched(drawing, at, _KEY_SIGN, _STRIP_HEIGHT)


def usual_sign(drawing: Drawing, at: Point) -> None:
    drawing.add(block(at, _KEY_SIGN, _USUAL_HEIGHT, QUIET))


def unset_sign(drawing: Drawing, at: Point) -> None:
    drawing.add(block((at[0], at[1] - 0.5), _KEY_SIGN, 5.5, WASH))
    drawing.add(path([(at[0], at[1] + 2), (at[0] + _KEY_SIGN, at[1] + 2)], DOTTED))


def unknown_sign(drawing: Drawing, at: Point) -> None:
    _cross(drawing, (at[0] + _KEY_SIGN / 2, at[1]))
