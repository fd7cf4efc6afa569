"""Pictures drawn as vectors: the cups of a test, and the twelve months of a zone.

Nothing rests on colour alone: dry cups are hatched, need is a line, the found program is dashed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from reportlab.graphics.shapes import Drawing
from reportlab.lib.units import mm

from properties.domain.units import System, dimension, from_canonical, preferred_unit
from reports.domain.audit_summary import Cup, MonthSetting, ZoneSeason, ZoneSummary, driest_quarter
from reports.domain.formats import DASH, MONTHS, number, percent, quantity
from reports.pdf.fonts import BOLD
from reports.pdf.strokes import (
    BASE,
    DASHED,
    FINE,
    FIRM,
    GRID,
    HATCHING,
    NOTE_SIZE,
    SURFACE,
    Point,
    block,
    label,
    line,
    path,
    picture,
)
from reports.pdf.styles import PALE_WATER, PAPER, QUIET, WASH
from reports.pdf.text import fitted

_TITLE_SIZE: Final = 7.5
_TICK_SIZE: Final = 5.6
_LARGEST_CUP: Final = 6.0 * mm
_SMALLEST_CUP: Final = 3.0 * mm
_NUMBER_HEIGHT: Final = 8.0
_MOST_STRETCH: Final = 2.0
_HATCH_STEP: Final = 2.2
_MOST_TICKS: Final = 5
_NOTHING: Final = 1e-9


@dataclass(frozen=True)
class _Plot:
    """Where the bars of a strip stand: their ground line, and points per millimetre of water."""

    left: float
    right: float
    bottom: float
    scale: float

    @property
    def step(self) -> float:
        return (self.right - self.left) / 12

    def y(self, depth_mm: float) -> float:
        return self.bottom + depth_mm * self.scale


def cup_picture(zone: ZoneSummary, system: System, *, width: float, height: float) -> Drawing:
    """Draw the cups of a test where they stood, each filled to its catch.

    The driest quarter is hatched; ticks mark the mean of all cups on each of them. Cups without a
    place stand in rows, in the order of the record.
    """
    drawing = picture(width, height)
    bottom, top = 10.0, height - 12.0
    _title(drawing, zone, width)
    drawing.add(block((0, bottom), width, top - bottom, WASH))
    depths = [cup.depth_mm for cup in zone.cups_detail]
    drawing.add(
        label(
            (0, 1), fitted(_caption(zone, depths, system), width=width, size=NOTE_SIZE), color=QUIET
        )
    )
    centres, size = _places(zone.cups_detail, width, top - bottom)
    dry, fullest = driest_quarter(depths), max(*depths, _NOTHING)
    mean_level = sum(depths) / len(depths) / fullest
    for place, (x, y) in enumerate(centres):
        corner = (x - size / 2, bottom + y - (size - _NUMBER_HEIGHT) / 2)
        _cup(drawing, corner, size, water=depths[place] / fullest * size, hatched=place in dry)
        _mean_ticks(drawing, corner, size, mean_level * size)
        shown = number(depths[place], "catch_depth", system)
        drawing.add(label((x, corner[1] - 7), shown, bold=place in dry, anchor="middle"))
    return drawing


def month_strip(
    zone: ZoneSummary, season: ZoneSeason, system: System, *, top_mm: float, size: Point
) -> Drawing:
    """Draw what a zone is to get in each month, against its need and the program as found.

    `top_mm` [mm per week] is the height of the scale, shared by all strips of a document; `size` is
    width and height [pt]. The number under a bar is the days between waterings.
    """
    width, height = size
    drawing = picture(width, height)
    plot = _Plot(17.0, width, bottom=17.0, scale=(height - 30.0) / top_mm)
    _title(drawing, zone, width, note="≈ estimated" if season.is_estimated else "")
    _ticks(drawing, plot, top_mm, system)
    for setting in season.months:
        _month(drawing, setting, plot)
    drawing.add(path(_stairs(season, plot), FIRM))
    if zone.found_weekly_mm is not None:
        y = plot.y(zone.found_weekly_mm)
        drawing.add(line((plot.left, y), (plot.right, y), DASHED))
    drawing.add(line((plot.left, plot.bottom), (plot.right, plot.bottom), BASE))
    return drawing


def strip_scale_mm(zones: Sequence[ZoneSummary], seasons: Sequence[ZoneSeason]) -> float:
    """Return the height [mm per week] that holds every bar, need and found program."""
    settings = [setting for season in seasons for setting in season.months]
    depths = [depth for setting in settings for depth in (setting.weekly_mm, setting.needed_mm)]
    found = [zone.found_weekly_mm or 0.0 for zone in zones]
    return max(*depths, *found, 1.0) * 1.04


def _caption(zone: ZoneSummary, depths: Sequence[float], system: System) -> str:
    mean = quantity(sum(depths) / len(depths), "catch_depth", system)
    named = (("low half", zone.du_lh), ("CU", zone.cu))
    shares = [f"{name} {percent(share)}" for name, share in named if share is not None]
    return " · ".join([f"mean {mean}", *shares])


def _places(cups: Sequence[Cup], width: float, height: float) -> tuple[list[Point], float]:
    """Return the centre of each cup in the field, and how large cups can be drawn."""
    points = [(cup.x_m, cup.y_m) for cup in cups if cup.x_m is not None and cup.y_m is not None]
    is_drawn_in = len(set(points)) == len(cups)
    place = _to_scale(points, width, height) if is_drawn_in else _in_rows(len(cups), width, height)
    return place, max(_SMALLEST_CUP, min(_LARGEST_CUP, _largest_apart(place)))


def _in_rows(count: int, width: float, height: float) -> list[Point]:
    rows = math.ceil(count / max(1, math.ceil(math.sqrt(count * width / height / 1.4))))
    columns = math.ceil(
        count / rows
    )  # no more than these rows need, so that the last one is well filled
    step_x, step_y = width / columns, height / rows
    return [
        ((place % columns + 0.5) * step_x, height - (place // columns + 0.5) * step_y)
        for place in range(count)
    ]


def _to_scale(points: Sequence[Point], width: float, height: float) -> list[Point]:
    """Fill the field; one axis may be stretched, but never to more than twice the other."""
    room_x, room_y = width - 1.7 * _LARGEST_CUP, height - 1.4 * _LARGEST_CUP - _NUMBER_HEIGHT
    xs, ys = [x for x, _ in points], [y for _, y in points]
    span_x, span_y = (max(axis) - min(axis) + _NOTHING for axis in (xs, ys))
    scale_x = min(room_x / span_x, _MOST_STRETCH * room_y / span_y)
    scale_y = min(room_y / span_y, _MOST_STRETCH * scale_x)
    middle_x, middle_y = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
    return [
        (width / 2 + (x - middle_x) * scale_x, height / 2 + (y - middle_y) * scale_y)
        for x, y in points
    ]


def _largest_apart(centres: Sequence[Point]) -> float:
    """Return the largest cup with which no two cups, their numbers included, overlap."""
    return min(
        (
            max(abs(a[0] - b[0]) / 1.4, (abs(a[1] - b[1]) - _NUMBER_HEIGHT) / 1.15)
            for place, a in enumerate(centres)
            for b in centres[:place]
        ),
        default=_LARGEST_CUP,
    )


def _cup(drawing: Drawing, corner: Point, size: float, *, water: float, hatched: bool) -> None:
    x, y = corner
    drawing.add(block(corner, size, size, PAPER))
    if hatched:
        _hatch(drawing, corner, size, water)
    else:
        drawing.add(block(corner, size, water, PALE_WATER))
    drawing.add(line((x, y + water), (x + size, y + water), SURFACE))
    drawing.add(path([(x, y + size), (x, y), (x + size, y), (x + size, y + size)], FINE))


def _hatch(drawing: Drawing, corner: Point, width: float, height: float) -> None:
    """Rising lines, each cut off where it leaves the rectangle."""
    x, y = corner
    for count in range(math.ceil((width + height) / _HATCH_STEP)):
        offset = count * _HATCH_STEP - height
        start, end = max(0.0, offset), min(width, offset + height)
        if end > start:
            ends = (x + start, y + start - offset), (x + end, y + end - offset)
            drawing.add(line(*ends, HATCHING))


def _mean_ticks(drawing: Drawing, corner: Point, size: float, level: float) -> None:
    x, y = corner[0], corner[1] + level
    drawing.add(line((x - 2, y), (x, y), FINE))
    drawing.add(line((x + size, y), (x + size + 2, y), FINE))


def _month(drawing: Drawing, setting: MonthSetting, plot: _Plot) -> None:
    left = plot.left + plot.step * (setting.month - 1)
    middle = left + plot.step / 2
    height = setting.weekly_mm * plot.scale
    drawing.add(block((left + plot.step * 0.16, plot.bottom), plot.step * 0.68, height, PALE_WATER))
    days = DASH if setting.days_between is None else str(setting.days_between)
    initial = MONTHS[setting.month - 1][0]
    drawing.add(label((middle, plot.bottom - 7.5), days, bold=True, anchor="middle"))
    drawing.add(label((middle, plot.bottom - 15.5), initial, color=QUIET, anchor="middle"))


def _ticks(drawing: Drawing, plot: _Plot, top_mm: float, system: System) -> None:
    depth = dimension("depth")
    shown_per_mm = from_canonical(1.0, preferred_unit(depth, system), depth)
    step_mm = _round_step(top_mm * shown_per_mm) / shown_per_mm
    for count in range(1, math.floor(top_mm / step_mm) + 1):
        y = plot.y(count * step_mm)
        shown = number(count * step_mm, "depth", system)
        drawing.add(line((plot.left, y), (plot.right, y), GRID))
        drawing.add(label((0, y - 2), shown, size=_TICK_SIZE, color=QUIET))


def _round_step(top: float) -> float:
    """Return the smallest step of 1, 2 or 5 times a power of ten that needs few enough ticks."""
    power = 10.0 ** math.floor(math.log10(top / _MOST_TICKS))
    return next(power * part for part in (1, 2, 5, 10) if top / (power * part) <= _MOST_TICKS)


def _stairs(season: ZoneSeason, plot: _Plot) -> list[Point]:
    return [
        (plot.left + plot.step * edge, plot.y(setting.needed_mm))
        for setting in season.months
        for edge in (setting.month - 1, setting.month)
    ]


def _title(drawing: Drawing, zone: ZoneSummary, width: float, *, note: str = "") -> None:
    y, room = drawing.height - 7.5, width - 48.0 if note else width
    shown = fitted(f"{zone.number}  {zone.name}", width=room, size=_TITLE_SIZE, font=BOLD)
    drawing.add(label((0, y), shown, size=_TITLE_SIZE, bold=True))
    drawing.add(label((width, y), note, color=QUIET, anchor="end"))
