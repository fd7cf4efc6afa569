"""The tables of the audit summary: zones, their meaning, the repairs, the season."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Table

from properties.domain.units import System
from reports.domain.audit_summary import (
    AuditSummary,
    Mend,
    MonthSetting,
    Severity,
    ZoneSeason,
    ZoneSummary,
)
from reports.domain.formats import (
    DASH,
    MONTHS,
    TIMES,
    head_words,
    interval,
    minutes,
    month_name,
    number,
    percent,
    plant_words,
    soil_words,
    unit_symbol,
)
from reports.pdf.fonts import BOLD
from reports.pdf.page import height_of
from reports.pdf.styles import (
    CELL,
    CELL_RIGHT,
    FLUSH,
    HAIRLINE,
    INK,
    LABEL,
    LABEL_RIGHT,
    QUIET,
    QUIET_NOTE,
    SMALL,
    WASH,
)
from reports.pdf.text import Strong, paragraph

PICTURES_IN_A_ROW: Final = 3
_NAME_LENGTH: Final = 40
_GUTTER: Final = 10
_TEXTS_IN_A_BLOCK: Final = 12

Command = tuple[Any, ...]


def zone_table(content: AuditSummary, width: float) -> Table:
    """What was measured, one row a zone."""
    area, rate, depth = (unit_symbol(of, content.system) for of in ("area", "rate", "depth"))
    columns = (
        ("Area", area), ("Rate", rate), ("Driest quarter", "share of the mean"),
        ("Gets", f"{depth}/week"), (f"Needs, {month_name(content.hottest_month)}", f"{depth}/week"),
    )  # fmt: skip
    head: list[Any] = [paragraph(LABEL, "Zone")]
    head += [[paragraph(LABEL_RIGHT, words) for words in lines] for lines in columns]
    rows = [_zone_row(zone, content) for zone in content.zones]
    shares = (0.42, 0.08, 0.12, 0.16, 0.10, 0.12)
    return _ruled([head, *rows], [width * share for share in shares])


def two_columns(cells: Sequence[Flowable], width: float, *, gap: float) -> Table:
    """Set short texts in two columns of about the same height, read down the left one first.

    More than `_TEXTS_IN_A_BLOCK` of them make several such blocks, so that no reader has to turn
    back a page for the second column.
    """
    starts = range(0, len(cells), _TEXTS_IN_A_BLOCK)
    blocks = [list(cells[start : start + _TEXTS_IN_A_BLOCK]) for start in starts]
    column = (width - gap) / 2
    rows = [_halves(block, column) for block in blocks]
    style = [*FLUSH, ("TOPPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, 0), (-1, -1), 0)]
    return Table(
        rows, colWidths=[column + gap, column], splitInRow=1, hAlign="LEFT",
        style=[*style, ("RIGHTPADDING", (0, 0), (0, -1), gap)],
    )  # fmt: skip


def mend_table(content: AuditSummary, width: float) -> Table:
    """What to mend, the urgent first; what was mended during the visit is ticked."""
    order = list(Severity)
    mends = sorted(content.mends, key=lambda m: (m.done_on_the_spot, order.index(m.severity)))
    rows = [_mend_row(mend, content) for mend in mends]
    return _ruled(rows, [width * share for share in (0.03, 0.25, 0.72)], head=False)


def season_table(content: AuditSummary, width: float) -> Table:
    """What to set: two lines a zone, the days between waterings over the minutes of a watering."""
    label_width = 42 * mm
    cell = (width - label_width) / 12
    rows: list[list[Any]] = [["", *(month[:3] for month in MONTHS)]]
    commands: list[Command] = []
    for season in content.season:
        top = len(rows)
        rows += _season_rows(content.zone(season.zone), season)
        commands += [
            ("SPAN", (0, top), (0, top + 1)),
            ("NOSPLIT", (0, top), (-1, top + 1)),
            ("FONT", (1, top), (-1, top), BOLD, 8),
            ("LINEBELOW", (0, top + 1), (-1, top + 1), 0.4, HAIRLINE),
            ("BOTTOMPADDING", (0, top), (-1, top), 0),
            ("TOPPADDING", (0, top + 1), (-1, top + 1), 0),
            *_quiet_rests(season, top),
        ]
    hot = content.hottest_month
    return Table(
        rows, colWidths=[label_width, *[cell] * 12], repeatRows=1, hAlign="LEFT",
        style=[*_SEASON_STYLE, ("BACKGROUND", (hot, 0), (hot, -1), WASH), *commands],
    )  # fmt: skip


def picture_grid(pictures: Sequence[Flowable], width: float, *, gap: float) -> Table:
    """Set pictures of that width side by side, `PICTURES_IN_A_ROW` of them."""
    filled = [*pictures, *[""] * (-len(pictures) % PICTURES_IN_A_ROW)]
    starts = range(0, len(filled), PICTURES_IN_A_ROW)
    rows = [filled[start : start + PICTURES_IN_A_ROW] for start in starts]
    columns = [width + gap] * (PICTURES_IN_A_ROW - 1) + [width]
    return Table(rows, colWidths=columns, hAlign="LEFT", style=FLUSH)


def zone_label(zone: ZoneSummary) -> str:
    """Name a zone where its full name has already been given."""
    name = zone.name
    shown = name if len(name) <= _NAME_LENGTH else name[: _NAME_LENGTH - 1].rstrip() + "…"
    return f"{zone.number}  {shown}"


def _zone_row(zone: ZoneSummary, content: AuditSummary) -> list[Any]:
    system = content.system
    kind = " · ".join((head_words(zone.head_kind), plant_words(zone.plant), soil_words(zone.soil)))
    return [
        [paragraph(CELL, Strong(f"{zone.number}  {zone.name}")), paragraph(LABEL, kind)],
        paragraph(CELL_RIGHT, _area(zone.area_m2, system)),
        _rate_cell(zone, content),
        _evenness_cell(zone),
        paragraph(CELL_RIGHT, _depth(zone.found_weekly_mm, content)),
        paragraph(CELL_RIGHT, _depth(zone.needed_weekly_mm, content)),
    ]


def _area(area_m2: float | None, system: System) -> str:
    return DASH if area_m2 is None else number(area_m2, "area", system)


def _depth(depth_mm: float | None, content: AuditSummary) -> str:
    return DASH if depth_mm is None else number(depth_mm, "depth", content.system)


def _rate_cell(zone: ZoneSummary, content: AuditSummary) -> list[Flowable]:
    if zone.rate_mm_h is None:
        return [paragraph(CELL_RIGHT, DASH)]
    mark = "≈ " if zone.estimated else ""
    cell: list[Flowable] = [
        paragraph(CELL_RIGHT, Strong(mark + number(zone.rate_mm_h, "rate", content.system))),
    ]
    if zone.rate_interval_mm_h is not None:
        low, high = zone.rate_interval_mm_h
        cell.append(paragraph(LABEL_RIGHT, interval(low, high, "rate", content.system)))
    return cell


def _evenness_cell(zone: ZoneSummary) -> list[Flowable]:
    if zone.estimated:
        return [paragraph(CELL_RIGHT, "estimated"), paragraph(LABEL_RIGHT, "no valid test")]
    cups = f"{zone.cups} cups" + (" pooled" if zone.pooled else "")
    if zone.du_lq is None:
        return [paragraph(CELL_RIGHT, "unknown"), paragraph(LABEL_RIGHT, cups)]
    share = paragraph(CELL_RIGHT, Strong(percent(zone.du_lq)))
    return [share, paragraph(LABEL_RIGHT, " · ".join(filter(None, (zone.rating, cups))))]


def _mend_row(mend: Mend, content: AuditSummary) -> list[Any]:
    known = {zone.number: zone for zone in content.zones}
    place = "Whole system" if mend.zone is None else f"Zone {mend.zone}"
    where = zone_label(known[mend.zone]) if mend.zone in known else place
    when = "done" if mend.done_on_the_spot else mend.severity.value
    what = [paragraph(CELL, Strong(mend.label), f" {mend.details}")]
    if mend.evidence:
        what.append(paragraph(QUIET_NOTE, mend.evidence))
    return [
        paragraph(CELL, "☑" if mend.done_on_the_spot else "☐"),
        [paragraph(CELL, where), paragraph(QUIET_NOTE, when)],
        what,
    ]


def _halves(cells: list[Flowable], width: float) -> list[list[Flowable]]:
    splits = [(cells[:at], cells[at:]) for at in range(1, len(cells) + 1)]
    return list(min(splits, key=lambda halves: max(height_of(half, width) for half in halves)))


def _quiet_rests(season: ZoneSeason, top: int) -> list[Command]:
    rests = [setting.month for setting in season.months if setting.days_between is None]
    return [("TEXTCOLOR", (month, top), (month, top + 1), QUIET) for month in rests]


def _season_rows(zone: ZoneSummary, season: ZoneSeason) -> list[list[Any]]:
    notes = ["≈ estimated"] if season.is_estimated else []
    if season.longest_soak_min > 0:
        notes.append(f"soak {minutes(season.longest_soak_min)} min")
    label: list[Flowable] = [paragraph(SMALL, Strong(zone_label(zone)))]
    if notes:
        label.append(paragraph(LABEL, " · ".join(notes)))
    days = [_days(setting) for setting in season.months]
    return [[label, *days], ["", *(_run(setting) for setting in season.months)]]


def _days(setting: MonthSetting) -> str:
    return DASH if setting.days_between is None else str(setting.days_between)


def _run(setting: MonthSetting) -> str:
    if setting.days_between is None:
        return "off"
    if setting.cycles > 1:
        return f"{setting.cycles}{TIMES}{minutes(setting.cycle_min)}"
    return minutes(setting.minutes)


def _ruled(rows: list[list[Any]], widths: Sequence[float], *, head: bool = True) -> Table:
    """Hairlines between rows, text flush with the margins, a head that repeats on every page."""
    style: list[Command] = [
        *FLUSH,
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE),
        ("RIGHTPADDING", (0, 0), (-2, -1), _GUTTER),
        ("TOPPADDING", (0, 0), (-1, -1), 1.4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
    ]
    if head:
        style += [("LINEBELOW", (0, 0), (-1, 0), 0.8, INK), ("VALIGN", (0, 0), (-1, 0), "BOTTOM")]
    return Table(
        rows, colWidths=list(widths), repeatRows=int(head), splitInRow=1, hAlign="LEFT",
        style=style,
    )  # fmt: skip


_SEASON_STYLE: Final[list[Command]] = [
    *FLUSH,
    ("LEADING", (0, 0), (-1, -1), 9),
    ("TEXTCOLOR", (1, 0), (-1, 0), QUIET),
    ("TEXTCOLOR", (1, 1), (-1, -1), INK),
    ("ALIGN", (1, 0), (-1, -1), "CENTER"),
    ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
    ("LINEBELOW", (0, 0), (-1, 0), 0.8, INK),
    ("TOPPADDING", (0, 0), (-1, -1), 2.6),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2.6),
]
