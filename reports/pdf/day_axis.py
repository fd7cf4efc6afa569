"""The ground of pictures over days: a scale of depths on the left, dates below."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from reportlab.graphics.shapes import Drawing

from properties.domain.units import System, dimension, from_canonical, preferred_unit
from reports.domain.formats import MONTHS, unit_symbol
from reports.pdf.strokes import BASE, GRID, Point, label, line
from reports.pdf.styles import QUIET

TICK_SIZE: Final = 5.6
_MOST_TICKS: Final = 4
_LEAST_TOP_MM: Final = 1.0
_HEADROOM: Final = 1.04
_MOST_DATES: Final = 10
_DATE_DROP: Final = 8.5


@dataclass(frozen=True)
class DayAxis:
    """Where days and depths lie: `left` to `right` for the days, `bottom` to `top` for depths."""

    left: float
    right: float
    bottom: float
    top: float
    days: int
    top_mm: float

    @property
    def step(self) -> float:
        return (self.right - self.left) / self.days

    def x(self, day: float) -> float:
        return self.left + self.step * day

    def y(self, depth_mm: float) -> float:
        return self.bottom + depth_mm / self.top_mm * (self.top - self.bottom)

    def at(self, day: float, depth_mm: float) -> Point:
        return self.x(day), self.y(depth_mm)


def scale_top_mm(*depths: float | None) -> float:
    """Return the height of a scale that holds all depths [mm]."""
    return max(_LEAST_TOP_MM, *(depth or 0.0 for depth in depths)) * _HEADROOM


def draw_depths(drawing: Drawing, axis: DayAxis, system: System, *, named: str) -> None:
    """Draw the grid and its numbers; the name of the scale, with its unit, stands above it."""
    depth = dimension("depth")
    shown_per_mm = from_canonical(1.0, preferred_unit(depth, system), depth)
    step = _round_step(axis.top_mm * shown_per_mm)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    for count in range(math.floor(axis.top_mm * shown_per_mm / step + 1e-9) + 1):
        y = axis.y(count * step / shown_per_mm)
        drawing.add(line((axis.left, y), (axis.right, y), BASE if count == 0 else GRID))
        number = f"{count * step:.{decimals}f}"
        place = (axis.left - 2.5, y - 2)
        drawing.add(label(place, number, size=TICK_SIZE, color=QUIET, anchor="end"))
    words = f"{named} [{unit_symbol('depth', system)}]"
    drawing.add(label((axis.left, axis.top + 3), words, size=TICK_SIZE, color=QUIET))


def draw_dates(drawing: Drawing, axis: DayAxis, first: date, system: System) -> None:
    """Draw a tick and a date every week, or every so many weeks."""
    step = 7 * max(1, math.ceil(axis.days / 7 / _MOST_DATES))
    for day in range(0, axis.days, step):
        x = axis.x(day + 0.5)
        drawing.add(line((x, axis.bottom), (x, axis.bottom - 2), BASE))
        words = short_date(first + timedelta(days=day), system)
        if axis.right - x < 3 * TICK_SIZE:
            at = (axis.right, axis.bottom - _DATE_DROP)
            drawing.add(label(at, words, size=TICK_SIZE, color=QUIET, anchor="end"))
        else:
            at = (x, axis.bottom - _DATE_DROP)
            drawing.add(label(at, words, size=TICK_SIZE, color=QUIET, anchor="middle"))


def short_date(day: date, system: System) -> str:
    """Return day and month as the reader writes them."""
    month = MONTHS[day.month - 1][:3]
    return f"{month} {day.day}" if system == "us" else f"{day.day} {month}"


def _round_step(top: float) -> float:
    """Return the smallest step of 1, 2 or 5 times a power of ten that needs few enough ticks."""
    power = 10.0 ** math.floor(math.log10(top / _MOST_TICKS))
    return next(power * part for part in (1, 2, 5, 10) if top / (power * part) <= _MOST_TICKS)
