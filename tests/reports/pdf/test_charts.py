from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.shapes import Drawing, Line, Rect, String

from reports.domain.audit_summary import Cup
from reports.pdf.charts import cup_picture, month_strip, strip_scale_mm
from reports.pdf.strokes import HATCHING
from reports.pdf.styles import PALE_WATER
from tests.reports.examples import BACK_CUPS_MM, in_a_grid, make_season, make_zone

WIDTH, HEIGHT = 163.0, 108.0
LINE_WIDTH = 1.2

depths = st.floats(0, 60)
metres = st.floats(-50, 50)
placed_cups = st.builds(lambda d, x, y: Cup(depth_mm=d, x_m=x, y_m=y), depths, metres, metres)


def drawn(cups) -> Drawing:
    return cup_picture(make_zone(cups_detail=tuple(cups)), "metric", width=WIDTH, height=HEIGHT)


def parts(drawing: Drawing, kind: type):
    return [part for part in drawing.contents if isinstance(part, kind)]


def is_inside(drawing: Drawing) -> bool:
    left, bottom, right, top = drawing.getBounds()
    return (
        left >= -LINE_WIDTH
        and bottom >= -LINE_WIDTH - 2  # letters reach below their line
        and right <= drawing.width + LINE_WIDTH
        and top <= drawing.height + LINE_WIDTH
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(placed_cups, min_size=1, max_size=24))
def test_cups_stay_in_their_picture_wherever_they_stood(cups):
    assert is_inside(drawn(cups))


@pytest.mark.parametrize("count", [1, 4, 12, 24, 60])
def test_cups_without_a_place_stay_in_their_picture(count):
    assert is_inside(drawn(Cup(depth_mm=5.0) for _ in range(count)))


def test_cups_of_a_grid_do_not_overlap():
    waters = [part for part in parts(drawn(in_a_grid((9.0,) * 12)), Rect) if part.width < 60]

    for place, one in enumerate(waters):
        for other in waters[:place]:
            same = (one.x, one.y) == (other.x, other.y)
            apart = abs(one.x - other.x) > one.width or abs(one.y - other.y) > one.width
            assert same or apart


def test_water_stands_in_proportion_to_the_catch():
    waters = [
        part.height
        for part in parts(drawn(in_a_grid((4.0, 8.0, 12.0, 16.0))), Rect)
        if part.fillColor == PALE_WATER
    ]

    # The driest of four is hatched; the others are filled to 1/2, 3/4 and all of the fullest.
    assert [water / waters[-1] for water in waters] == pytest.approx([0.5, 0.75, 1.0])


def test_the_driest_quarter_is_hatched_and_bold():
    drawing = drawn(in_a_grid(BACK_CUPS_MM))
    bold = {part.text for part in parts(drawing, String) if part.fontName.endswith("Bold")}
    hatches = [part for part in parts(drawing, Line) if part.strokeWidth == HATCHING.width]

    assert {"5.8", "6.1", "5.6"} <= bold
    assert not {"7.1", "6.3"} & bold
    assert len(hatches) > 9


@pytest.mark.parametrize("system", ["us", "metric"])
@settings(max_examples=40, deadline=None)
@given(share=st.floats(0, 8), found=st.none() | st.floats(0, 500))
def test_a_strip_holds_every_bar_need_and_found_program(system, share, found):
    zone, season = make_zone(found_weekly_mm=found), make_season(share=share)
    top_mm = strip_scale_mm([zone], [season])

    strip = month_strip(zone, season, system, top_mm=top_mm, size=(WIDTH, 94.0))

    assert is_inside(strip)


def test_a_strip_shows_the_days_between_in_the_order_of_the_months():
    season = make_season()
    strip = month_strip(make_zone(), season, "metric", top_mm=100.0, size=(WIDTH, 94.0))

    bold = [part for part in parts(strip, String) if part.fontName.endswith("Bold")]
    days = [part.text for part in bold if part.textAnchor == "middle"]
    assert days == ["–" if m.days_between is None else str(m.days_between) for m in season.months]
