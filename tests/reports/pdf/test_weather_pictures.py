"""The weather pictures: what they hold, that nothing leaves the sheet, and that SVG is XML."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.shapes import Drawing, Line, Polygon, PolyLine, Rect, String

from reports.domain.weather_pictures import DailyDepths, StoredWater
from reports.pdf.strokes import DASHED, DOTTED, FINE, FIRM, HATCHING
from reports.pdf.styles import PALE_WATER, QUIET, WASH
from reports.pdf.weather_pictures import rain_and_et0_picture, stored_water_picture, svg_of

WIDTH, HEIGHT = 480.0, 210.0
LINE_WIDTH = 1.2
FIRST = date(2026, 5, 10)
ODD_NAME = '<script>alert("x")</script> & Söhne \x07'


def make_depths(days=60, **changes) -> DailyDepths:
    values = {
        "title": "Rain and ET0: Holm garden", "source": "Mill, 3.5 km away", "system": "metric",
        "first_date": FIRST, "et0_mm": (5.0,) * days,
        "rain_mm": tuple(12.0 if day % 9 == 0 else 0.0 for day in range(days)),
        "filled": (False,) * days,
    }  # fmt: skip
    return DailyDepths(**{**values, **changes})


def make_store(days=60, **changes) -> StoredWater:
    values = {
        "title": "1  Front lawn", "system": "metric", "first_date": FIRST, "capacity_mm": 40.0,
        "limit_mm": 20.0, "stored_mm": tuple(38.0 - day % 4 * 5 for day in range(days)),
        "watered_mm": tuple(15.0 if day % 4 == 0 else 0.0 for day in range(days)),
        "rain_mm": tuple(12.0 if day % 9 == 0 else 0.0 for day in range(days)),
        "usual": (False,) * days, "setting_since": FIRST,
    }  # fmt: skip
    return StoredWater(**{**values, **changes})


def weather(**changes) -> Drawing:
    return rain_and_et0_picture(make_depths(**changes), width=WIDTH, height=HEIGHT)


def store(**changes) -> Drawing:
    return stored_water_picture(make_store(**changes), width=WIDTH, height=HEIGHT)


def parts(drawing: Drawing, kind: type):
    return [part for part in drawing.contents if isinstance(part, kind)]


def words(drawing: Drawing) -> set[str]:
    return {part.text for part in parts(drawing, String)}


def bars(drawing: Drawing):
    return [part for part in parts(drawing, Rect) if part.fillColor == PALE_WATER][:-1]  # but key


def is_inside(drawing: Drawing) -> bool:
    left, bottom, right, top = drawing.getBounds()
    return (
        left >= -LINE_WIDTH
        and bottom >= -LINE_WIDTH - 2  # letters reach below their line
        and right <= drawing.width + LINE_WIDTH
        and top <= drawing.height + LINE_WIDTH
    )


depths = st.none() | st.just(0.0) | st.floats(0, 400)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.lists(st.tuples(depths, depths, st.booleans()), min_size=1, max_size=70),
       st.sampled_from(["us", "metric"]))  # fmt: skip
def test_rain_and_et0_stay_on_the_sheet(days, system):
    et0, rain, filled = zip(*days, strict=True)

    assert is_inside(weather(et0_mm=et0, rain_mm=rain, filled=filled, system=system))


@settings(max_examples=20, deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(depths, depths, st.booleans()), min_size=1, max_size=70),
    st.floats(0.5, 400), st.none() | st.integers(-1, 70),
)  # fmt: skip
def test_a_store_stays_on_the_sheet(days, capacity_mm, unset_days):
    rain, watered, usual = zip(*days, strict=True)
    since = None if unset_days is None else FIRST + timedelta(days=unset_days)
    stored = tuple(None if mm is None else min(mm, capacity_mm) for mm in rain)

    assert is_inside(
        store(
            stored_mm=stored, rain_mm=rain, watered_mm=watered, capacity_mm=capacity_mm,
            limit_mm=capacity_mm / 2, usual=usual, setting_since=since,
        )
    )  # fmt: skip


def test_rain_stands_in_proportion_and_under_its_day():
    rain = (0.0, 5.0, 10.0, None, 20.0)
    drawing = weather(days=5, rain_mm=rain)

    heights = [bar.height for bar in bars(drawing)]
    places = [bar.x for bar in bars(drawing)]

    assert [height / heights[-1] for height in heights] == pytest.approx([0.25, 0.5, 1.0])
    step = places[1] - places[0]
    assert places[2] - places[1] == pytest.approx(2 * step)
    assert step == pytest.approx((WIDTH - 20) / 5)


def test_no_line_is_drawn_over_an_unknown_day():
    drawing = weather(days=7, et0_mm=(3.0, 4.0, None, 5.0, 6.0, 7.0, None))

    lines = [len(part.points) // 2 for part in parts(drawing, PolyLine)]
    assert lines == [2, 3]
    assert "unknown" in words(drawing)


def test_a_day_between_two_unknown_ones_still_shows():
    drawing = weather(days=3, et0_mm=(None, 4.0, None))

    (dash,) = parts(drawing, PolyLine)
    assert dash.points[0] < dash.points[2]
    assert dash.points[1] == dash.points[3]


def test_filled_in_days_are_hatched_and_explained():
    plain, filled = weather(days=5), weather(days=5, filled=(False, True, True, False, False))

    def hatches(drawing):
        return [part for part in parts(drawing, Line) if part.strokeWidth == HATCHING.width]

    assert hatches(plain) == []
    assert len(hatches(filled)) > 4
    assert "filled in from neighbours" in words(filled) - words(plain)


@pytest.mark.parametrize(("system", "unit", "day"), [("us", "in", "May 10"),
                                                     ("metric", "mm", "10 May")])  # fmt: skip
def test_axes_are_named_in_the_readers_units(system, unit, day):
    assert {f"rain of a day [{unit}]", f"ET0 of a day [{unit}]", day} <= words(
        weather(system=system)
    )
    assert {f"came in on a day [{unit}]", f"held by the roots [{unit}]", day} <= words(
        store(system=system)
    )


@pytest.mark.parametrize("days", [1, 7, 60, 366])
def test_dates_do_not_run_into_one_another(days):
    drawing = weather(days=days)
    dates = [part for part in parts(drawing, String) if part.text.split()[-1] in
             ("May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec", "Jan", "Feb", "Mar", "Apr")
             and part.text[0].isdigit()]  # fmt: skip

    spans = sorted((part.getBounds()[0], part.getBounds()[2]) for part in dates)
    assert 1 <= len(spans) <= 11
    assert all(end <= start for (_, end), (start, _) in pairwise(spans))


def test_the_store_shows_its_limits_waterings_and_level():
    drawing = store()

    dashed = [part.y1 for part in parts(drawing, Line) if part.strokeDashArray == DASHED.dash]
    limit, full = sorted(dashed)
    (area,) = parts(drawing, Polygon)
    ground = area.points[1]
    assert (limit - ground) / (full - ground) == pytest.approx(0.5)
    assert (max(area.points[1::2]) - ground) / (full - ground) == pytest.approx(38 / 40)
    outlines = [part for part in parts(drawing, PolyLine) if part.strokeWidth == HATCHING.width]
    assert len(outlines) == 15 + 1  # the waterings and the key
    assert {"full", "below this the plants lack water", "watering, net"} <= words(drawing)


def test_what_is_not_known_of_a_store_is_marked_and_explained():
    plain = store(days=8)
    rain = (0.0, None, 5.0, None, 0.0, 0.0, 0.0, 0.0)
    marked = store(
        days=8, rain_mm=rain, usual=(False,) * 6 + (True,) * 2,
        setting_since=FIRST + timedelta(days=3),
    )  # fmt: skip

    assert words(marked) - words(plain) == {
        "rain unknown, taken as none", "usual ET0", "no setting known, no watering counted",
        "setting known from 13 May",
    }  # fmt: skip
    step = (WIDTH - 20) / 8
    band, *_ = [part for part in parts(marked, Rect) if part.fillColor == WASH]
    assert (band.x, band.width) == (20.0, pytest.approx(3 * step))
    (edge,) = [part for part in parts(marked, Line) if part.strokeDashArray and part.x1 == part.x2]
    assert edge.x1 == pytest.approx(20 + 3 * step)
    dotted, held = [part for part in parts(marked, PolyLine) if part.strokeWidth == FIRM.width][:2]
    # Three days and on to the first known one; then five.
    assert (len(dotted.points) // 2, len(held.points) // 2) == (4, 5)
    assert (dotted.strokeDashArray, held.strokeDashArray) == (DOTTED.dash, None)
    assert [part.x for part in parts(marked, Rect) if part.fillColor == QUIET][:2] == (
        pytest.approx([20 + 6 * step, 20 + 7 * step])
    )
    crosses = [part for part in parts(marked, Line) if part.strokeWidth == FINE.width
               and part.x1 != part.x2 and part.y1 != part.y2]  # fmt: skip
    assert len(crosses) == 2 * 2 + 2  # two days and the key


def test_a_store_without_any_setting_says_so():
    assert "no setting known" in words(store(setting_since=None))


@pytest.mark.parametrize("days", [1, 5, 30, 59])
def test_words_above_a_store_do_not_run_into_one_another(days):
    drawing = store(setting_since=FIRST + timedelta(days=days))

    name, since = (
        next(part for part in parts(drawing, String) if part.text.startswith(start))
        for start in ("came in on a day", "setting known from")
    )
    assert name.getBounds()[2] < since.getBounds()[0]


def test_svg_is_xml_with_title_and_axes():
    root = ElementTree.fromstring(svg_of(weather(), "Rain and ET0"))  # noqa: S314 -- ours

    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.find("{http://www.w3.org/2000/svg}title").text == "Rain and ET0"
    assert {"Rain and ET0: Holm garden", "rain of a day [mm]", "ET0 of a day [mm]"} <= set(texts)
    assert "10 May" in texts


def test_a_name_cannot_become_markup():
    svg = svg_of(weather(title=ODD_NAME, source=ODD_NAME), ODD_NAME)

    root = ElementTree.fromstring(svg)  # noqa: S314 -- ours
    tags = {element.tag.split("}")[1] for element in root.iter()}
    assert tags == {"svg", "title", "clipPath", "g", "rect", "path", "text", "polyline"}
    title = root.find("{http://www.w3.org/2000/svg}title").text
    assert title == '<script>alert("x")</script> & Söhne '
    assert b"<script" not in svg


def test_svg_names_typefaces_that_readers_have():
    svg = svg_of(weather(), "T").decode()

    assert "font-family: DejaVuSans" not in svg
    assert "font-family: 'DejaVu Sans', Verdana, sans-serif; font-weight: bold" in svg


def test_a_limit_stays_dashed_in_svg():
    root = ElementTree.fromstring(svg_of(store(), "T"))  # noqa: S314 -- ours
    paths = list(root.iter("{http://www.w3.org/2000/svg}path"))

    dashed = [each for each in paths if "stroke-dasharray" in each.get("style")]
    assert len(dashed) == 2
    assert not any(each.get("d").endswith("Z") for each in dashed)  # back over its own gaps
