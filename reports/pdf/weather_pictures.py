"""Pictures over days: ET0 and rain of the last weeks, and the water that the roots of a zone hold.

Nothing rests on colour alone: rain is a capped bar, ET0 and the store are lines, a watering is a
hatched bar, a limit is dashed, an unknown day is a gap with a cross at its foot.
"""

from __future__ import annotations

import re
from typing import Final
from xml.sax.saxutils import escape

from reportlab.graphics.renderSVG import drawToString
from reportlab.graphics.shapes import Drawing

from reports.domain.weather_pictures import DailyDepths, StoredWater
from reports.pdf.day_axis import DayAxis, draw_dates, draw_depths, scale_top_mm, short_date
from reports.pdf.day_marks import (
    LEFT,
    Sign,
    bar_sign,
    bars,
    filled_area,
    filled_strip,
    hatch_sign,
    hatched_bars,
    legend,
    line_sign,
    lines,
    strip_sign,
    unknown,
    unknown_sign,
    unset_sign,
    usual_bar,
    usual_sign,
)
from reports.pdf.fonts import BOLD, REGULAR
from reports.pdf.strokes import (
    DASHED,
    DOTTED,
    NOTE_SIZE,
    block,
    label,
    line,
    picture,
)
from reports.pdf.styles import QUIET, WASH
from reports.pdf.text import fitted, plain

_TITLE_SIZE: Final = 7.5
_NAME_WIDTH: Final = 100.0  # of the name of a scale
_CLOSED_LINE: Final = re.compile(r'd="M (\S+) L (\S+) Z"')
_FACES: Final = {
    REGULAR: "font-family: 'DejaVu Sans', Verdana, sans-serif",
    BOLD: "font-family: 'DejaVu Sans', Verdana, sans-serif; font-weight: bold",
}


def rain_and_et0_picture(content: DailyDepths, *, width: float, height: float) -> Drawing:
    """Draw the rain of each day as bars, and below it ET0 as a line on a scale of its own.

    One wet day would flatten ET0 if both stood on one scale. A hatched strip along the days marks
    those that were filled in.
    """
    drawing = picture(width, height)
    days = len(content.et0_mm)
    middle = 34.0 + (height - 56.0) * 0.45
    lower = DayAxis(LEFT, width, 34.0, middle, days, scale_top_mm(*content.et0_mm))
    upper = DayAxis(LEFT, width, middle + 16.0, height - 22.0, days, scale_top_mm(*content.rain_mm))
    _title(drawing, content.title, width)
    draw_depths(drawing, upper, content.system, named="rain of a day")
    bars(drawing, content.rain_mm, upper)
    unknown(drawing, content.rain_mm, upper)
    draw_depths(drawing, lower, content.system, named="ET0 of a day")
    lines(drawing, content.et0_mm, lower)
    unknown(drawing, content.et0_mm, lower)
    filled_strip(drawing, content.filled, lower)
    draw_dates(drawing, lower, content.first_date, content.system)
    keys = [("rain", bar_sign), ("ET0: what well-watered grass would use", line_sign)]
    if any(content.filled):
        keys.append(("filled in from neighbours", strip_sign))
    if None in content.et0_mm or None in content.rain_mm:
        keys.append(("unknown", unknown_sign))
    legend(drawing, keys, y=12.0)
    source = fitted(content.source, width=width, size=NOTE_SIZE)
    drawing.add(label((0, 2.5), source, color=QUIET))
    return drawing


def stored_water_picture(content: StoredWater, *, width: float, height: float) -> Drawing:
    """Draw the store as an area up to its capacity, and rain and waterings hanging from above.

    The dashed line is the limit at which the readily available water is used up. Days without a
    known setting lie in a shaded band, and the store of them is dotted; a bar along the foot marks
    days on the usual ET0.
    """
    drawing = picture(width, height)
    days = len(content.stored_mm)
    middle = 22.0 + (height - 44.0) * 0.68
    store = DayAxis(LEFT, width, 22.0, middle, days, content.capacity_mm * 1.04)
    top_mm = scale_top_mm(*content.rain_mm, *content.watered_mm)
    came_in = DayAxis(LEFT, width, middle + 14.0, height - 22.0, days, top_mm)
    _title(drawing, content.title, width)
    shaded = came_in.step * content.unset_days
    drawing.add(block(came_in.at(0, 0), shaded, came_in.top - came_in.bottom, WASH))
    draw_depths(drawing, came_in, content.system, named="came in on a day")
    bars(drawing, content.rain_mm, came_in, share=0.45, start=0.05)
    unknown(drawing, content.rain_mm, came_in)
    hatched_bars(drawing, content.watered_mm, came_in)
    filled_area(drawing, content.stored_mm, store)
    draw_depths(drawing, store, content.system, named="held by the roots")
    if content.unset_days:
        lines(drawing, content.stored_mm[: content.unset_days + 1], store, DOTTED)
        _setting_began(drawing, content, came_in, store)
    lines(drawing, content.stored_mm, store, first=content.unset_days)
    _level(drawing, store, content.capacity_mm, "full", above=1.5)
    _level(drawing, store, content.limit_mm, "below this the plants lack water", above=-6.5)
    unknown(drawing, content.stored_mm, store)
    draw_dates(drawing, store, content.first_date, content.system)
    usual_bar(drawing, content.usual, store)
    legend(drawing, _store_keys(content), y=2.5)
    return drawing


def _store_keys(content: StoredWater) -> list[tuple[str, Sign]]:
    keys: list[tuple[str, Sign]] = [
        ("rain", bar_sign),
        ("watering, net", hatch_sign),
        ("held", line_sign),
    ]
    if None in content.rain_mm:
        keys.append(("rain unknown, taken as none", unknown_sign))
    if any(content.usual):
        keys.append(("usual ET0", usual_sign))
    if content.unset_days:
        keys.append(("no setting known, no watering counted", unset_sign))
    return keys


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


def _level(drawing: Drawing, axis: DayAxis, depth_mm: float, words: str, *, above: float) -> None:
    y = axis.y(depth_mm)
    drawing.add(line((axis.left, y), (axis.right, y), DASHED))
    drawing.add(label((axis.right, y + above), words, color=QUIET, anchor="end"))


def _setting_began(drawing: Drawing, content: StoredWater, upper: DayAxis, lower: DayAxis) -> None:
    """Draw where the first known setting began, and say it above the waterings."""
    if content.setting_since is None or content.unset_days == upper.days:
        words, x = "no setting known", upper.right
    else:
        words = f"setting known from {short_date(content.setting_since, content.system)}"
        x = upper.x(content.unset_days)
        drawing.add(line((x, lower.bottom), (x, upper.top), DASHED))
    written = label((x, upper.top + 3), words, color=QUIET, anchor="end")
    if written.getBounds()[0] < upper.left + _NAME_WIDTH:
        written = label((max(x, upper.left + _NAME_WIDTH), upper.top + 3), words, color=QUIET)
    drawing.add(written)
