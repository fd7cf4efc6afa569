"""The audit summary on paper: first what was found, then what to set.

1. Title and the two sentences to remember.
2. What was measured, what it means, what to mend.
3. On the second page or later: what to set through the season, cautions, method and limits.

The pictures give way to the words: they are as high as the page lets them be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from reportlab.graphics.shapes import Drawing
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, HRFlowable, Spacer, Table

from reports.domain.audit_summary import AuditSummary
from reports.domain.formats import DASH, TIMES, month_name, spelled_date
from reports.domain.shared_notes import shared_notes
from reports.pdf.audit_tables import (
    PICTURES_IN_A_ROW,
    mend_table,
    picture_grid,
    season_table,
    two_columns,
    zone_label,
    zone_table,
)
from reports.pdf.charts import cup_picture, month_strip, strip_scale_mm
from reports.pdf.page import NextPart, Sheet, document_bytes, height_of
from reports.pdf.styles import (
    BODY,
    FLUSH,
    HEADLINE,
    INK,
    KICKER,
    LABEL,
    META_RIGHT,
    NOTE,
    SECTION,
    SMALL,
    TEXT,
    TITLE,
)
from reports.pdf.text import Strong, heading, paragraph


@dataclass(frozen=True)
class _Heights:
    """How high a kind of picture may be drawn [pt]."""

    least: float
    usual: float
    most: float


_GAP: Final = 5 * mm
_CUPS: Final = _Heights(least=31 * mm, usual=36 * mm, most=44 * mm)
_STRIPS: Final = _Heights(least=28 * mm, usual=32 * mm, most=38 * mm)
_BREATH: Final = 3 * mm
_MOST_KEPT_WHOLE: Final = 0.65
_LEAST_AFTER_HEADING: Final = 28 * mm
_SEASON_LEGEND: Final = (
    f"Bold: days between waterings. Below: minutes on each watering day; 2{TIMES}11 means two runs "
    "of 11 minutes with the soak between them. As it warms, the days between shrink; the minutes "
    "mostly stay."
)
_REST_LEGEND: Final = f"{DASH} off: no watering; shut down and drain where it freezes."
_CUP_LEGEND: Final = (
    "Each cup is filled to its catch, the number under it. Ticks mark the mean of all cups; the "
    "driest quarter is hatched."
)


def render_audit_summary(content: AuditSummary) -> bytes:
    """Turn the content into a PDF; equal content gives equal bytes."""
    sheet = _sheet(content)
    found = _filling(
        partial(_found, content, sheet), sheet, rows=_rows(content.drawn_zones), heights=_CUPS
    )
    to_set = _filling(
        partial(_to_set, content, sheet), sheet, rows=_rows(content.season), heights=_STRIPS
    )
    return document_bytes(sheet, [*found, *to_set])


def _found(content: AuditSummary, sheet: Sheet, cups_height: float) -> list[Flowable]:
    width = sheet.text_width
    return [
        *_title_block(content, width),
        *_measured(content, width, cups_height),
        *_meaning(content, width),
        *_mending(content, width),
    ]


def _to_set(content: AuditSummary, sheet: Sheet, strip_height: float) -> list[Flowable]:
    season = _season(content, sheet.text_width, strip_height)
    small_print = [*_cautions(content, sheet.text_width), *_method(content)]
    return [
        NextPart(_room_for(season, sheet)),
        *season,
        CondPageBreak(_room_for(small_print, sheet)),
        *small_print,
    ]


def _rows(pictures: Sequence[object]) -> int:
    return math.ceil(len(pictures) / PICTURES_IN_A_ROW)


def _sheet(content: AuditSummary) -> Sheet:
    visited = spelled_date(content.visit_date, content.system)
    return Sheet(
        title=f"Sprinkler audit of {content.property_name}, {visited}",
        author=content.company_name,
        subject=f"Audit summary for {content.customer_name}, revision {content.revision}",
        running_head=f"Sprinkler audit · {content.property_name}",
        running_date=visited,
        foot=" · ".join(filter(None, (content.company_name, content.company_contact))),
        system=content.system,
    )


def _title_block(content: AuditSummary, width: float) -> list[Flowable]:
    left = [
        paragraph(KICKER, "Sprinkler audit"),
        heading(TITLE, content.property_name),
        paragraph(BODY, ", ".join(content.address_lines)),
    ]
    right = [
        paragraph(META_RIGHT, Strong(spelled_date(content.visit_date, content.system))),
        paragraph(META_RIGHT, f"for {content.customer_name}"),
        paragraph(META_RIGHT, f"visited by {content.technician_name}"),
        paragraph(META_RIGHT, f"revision {content.revision}"),
    ]
    columns = [width * 0.68, width * 0.32]
    return [
        Table([[left, right]], colWidths=columns, splitInRow=1, style=FLUSH),
        HRFlowable(width="100%", thickness=1.2, color=INK, spaceBefore=2, spaceAfter=4),
        paragraph(HEADLINE, content.headline),
    ]


def _measured(content: AuditSummary, width: float, cups_height: float) -> list[Flowable]:
    parts = _section("What was measured")
    if not content.zones:
        return [*parts, paragraph(BODY, "No zone was measured on this visit.")]
    parts.append(zone_table(content, width))
    if not content.drawn_zones:
        return parts
    picture_width = _picture_width(width)
    pictures = [
        cup_picture(zone, content.system, width=picture_width, height=cups_height)
        for zone in content.drawn_zones
    ]
    return [*parts, Spacer(0, 2 * mm), *_with_legend(pictures, _CUP_LEGEND, picture_width)]


def _with_legend(pictures: list[Drawing], words: str, width: float) -> list[Flowable]:
    """Put the legend into the place that the last row of pictures leaves free, else below."""
    legend = paragraph(LABEL, words)
    if len(pictures) % PICTURES_IN_A_ROW:
        return [picture_grid([*pictures, legend], width, gap=_GAP)]
    return [picture_grid(pictures, width, gap=_GAP), legend]


def _picture_width(text_width: float) -> float:
    return (text_width - _GAP * (PICTURES_IN_A_ROW - 1)) / PICTURES_IN_A_ROW


def _meaning(content: AuditSummary, width: float) -> list[Flowable]:
    zones = [zone for zone in content.zones if zone.meaning or zone.advice]
    if not zones:
        return []
    texts = [(zone_label(zone), zone.meaning) for zone in zones]
    texts += [(note.place, note.text) for note in shared_notes(zones)]
    cells = [paragraph(TEXT, Strong(f"{topic}. "), words) for topic, words in texts]
    return [*_section("What it means"), two_columns(cells, width, gap=_GAP)]


def _mending(content: AuditSummary, width: float) -> list[Flowable]:
    if not content.mends:
        return [*_section("What to mend"), paragraph(BODY, "No fault was found on this visit.")]
    return [*_section("What to mend"), mend_table(content, width)]


def _season(content: AuditSummary, width: float, strip_height: float) -> list[Flowable]:
    parts = _section("What to set through the season")
    if not content.season:
        return [*parts, paragraph(BODY, "No program could be worked out from this visit.")]
    size = (_picture_width(width), strip_height)
    top_mm = strip_scale_mm(content.zones, content.season)
    strips = [
        month_strip(content.zone(entry.zone), entry, content.system, top_mm=top_mm, size=size)
        for entry in content.season
    ]
    return [
        *parts,
        paragraph(BODY, _SEASON_LEGEND),
        Spacer(0, 1.5 * mm),
        season_table(content, width),
        *_under_the_season(content),
        Spacer(0, 2 * mm),
        *_with_legend(strips, _strip_legend(content), size[0]),
    ]


def _under_the_season(content: AuditSummary) -> list[Flowable]:
    parts: list[Flowable] = []
    if any(season.has_rest for season in content.season):
        parts += [Spacer(0, 1 * mm), paragraph(LABEL, _REST_LEGEND)]
    if content.rain_rule:
        parts += [Spacer(0, 2 * mm), paragraph(BODY, Strong("Rain. "), content.rain_rule)]
    return parts


def _strip_legend(content: AuditSummary) -> str:
    unit = "inches" if content.system == "us" else "millimetres"
    return (
        f"Bars: {unit} of water a week when set as above. Solid line: what the plants need. Dashed "
        "line: the program as found, if it ran all year. Numbers: days between waterings. Bars "
        "stand above the need where the water falls unevenly."
    )


def _cautions(content: AuditSummary, width: float) -> list[Flowable]:
    if not content.cautions:
        return []
    cells = [paragraph(NOTE, Strong(f"{c.topic}. "), c.text) for c in content.cautions]
    return [*_section("Cautions"), two_columns(cells, width, gap=_GAP)]


def _method(content: AuditSummary) -> list[Flowable]:
    notes = list(content.method_notes)
    if content.weather is not None:
        years = f"{content.weather.first_year}{DASH}{content.weather.last_year}"
        month = month_name(content.hottest_month)
        notes.append(
            f"Weather: {content.weather.station}, {years}; {month} is the hottest month there."
        )
    if not notes:
        return []
    return [*_section("Method and limits"), paragraph(SMALL, " ".join(notes))]


def _filling(
    build: Callable[[float], list[Flowable]], sheet: Sheet, *, rows: int, heights: _Heights
) -> list[Flowable]:
    """Build a part with pictures as high as fills one page, or of usual height if it needs more."""
    room = sheet.text_height - height_of(build(heights.least), sheet.text_width)
    if room < 0 or not rows:
        return build(heights.usual)
    return build(min(heights.most, heights.least + max(0.0, room - _BREATH) / rows))


def _room_for(parts: list[Flowable], sheet: Sheet) -> float:
    """Return the room [pt] below which parts begin on a new page.

    They are kept whole, unless the page before would stay nearly empty for it.
    """
    return min(height_of(parts, sheet.text_width), _MOST_KEPT_WHOLE * sheet.text_height)


def _section(words: str) -> list[Flowable]:
    return [CondPageBreak(_LEAST_AFTER_HEADING), heading(SECTION, words, level=1)]
