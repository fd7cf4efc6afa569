from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reports.pdf.audit_summary import render_audit_summary
from reports.pdf.charts import cup_picture
from tests.reports.examples import (
    five_mends,
    full_visit,
    make_season,
    make_summary,
    make_zone,
    many_mends,
    many_zones,
    six_seasons,
    six_zones,
)
from tests.reports.pdf.reading import example, full_example, read, texts_of


def filled_share(page) -> float:
    """How far down the page its last line stands; the foot does not count."""
    heights: list[float] = []

    def visit(text, place, matrix, _font, _size):
        heights.append(matrix[5] * place[3] + place[5] if text.strip() else math.inf)

    page.extract_text(visitor_text=visit)
    foot = 40.0
    height = float(page.mediabox.height)
    return 1.0 - min(each for each in heights if each > foot) / height


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("made", [example, full_example])
def test_six_zones_take_two_well_filled_pages_that_count_themselves(made, system):
    pages = texts_of(made(system))

    assert len(pages) == 2
    assert ["Page 1 of 2" in pages[0], "Page 2 of 2" in pages[1]] == [True, True]
    assert all(filled_share(page) > 0.8 for page in made(system).pages)


@pytest.mark.parametrize("made", [example, full_example])
def test_the_first_page_says_what_was_found_and_the_second_what_to_set(made):
    first, second = texts_of(made())

    assert all(title in first for title in ("What was measured", "What it means", "What to mend"))
    assert all(title in second for title in ("What to set", "Cautions", "Method and limits"))


def test_letter_in_inches_and_a4_in_millimetres():
    sizes = {system: example(system).pages[0].mediabox for system in ("us", "metric")}

    assert [round(float(side)) for side in sizes["us"][2:]] == [612, 792]
    assert [round(float(side)) for side in sizes["metric"][2:]] == [595, 842]


@settings(max_examples=25, deadline=None)
@given(st.text(max_size=80), st.text(max_size=80), st.text(max_size=80))
def test_no_name_breaks_the_document(zone_name, customer, what):
    mend = replace(five_mends()[0], what=what)
    content = make_summary(
        zones=(make_zone(name=zone_name),), season=(make_season(),), mends=(mend,),
        customer_name=customer, property_name=zone_name, company_name=customer,
    )  # fmt: skip

    assert len(read(content).pages) == 2


@pytest.mark.parametrize("name", ["Lawn " * 600, "x" * 3000])
def test_endless_names_flow_on(name):
    content = make_summary(
        zones=(make_zone(name=name, advice=(name,)),), season=(make_season(),),
        mends=(replace(five_mends()[0], what=name, evidence=name),),
        property_name=name, customer_name=name, company_name=name, address_lines=(name,),
    )  # fmt: skip

    assert len(read(content).pages) > 2


@pytest.mark.parametrize("count", [20, 24])
def test_the_season_follows_the_repairs_on_their_last_page_if_it_fits_whole(count):
    texts = texts_of(read(make_summary(mends=many_mends(count))))

    season = next(place for place, text in enumerate(texts) if "What to set" in text)
    assert "New battery for the controller" in texts[season - 1]
    assert "6 Orchard" in texts[season]
    assert "Bars: inches of water" in texts[season]


@pytest.mark.parametrize("count", [8, 12, 16, 30, 45])
def test_no_page_but_the_last_is_sparse_however_many_the_repairs(count):
    pages = read(make_summary(mends=many_mends(count))).pages

    assert all(filled_share(page) > 0.4 for page in pages[:-1])
    assert filled_share(pages[-1]) > 0.3


def test_pictures_give_way_to_the_words_of_their_page():
    heights = []

    def watched(zone, system, *, width, height):
        heights.append(height)
        return cup_picture(zone, system, width=width, height=height)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("reports.pdf.audit_summary.cup_picture", watched)
        render_audit_summary(make_summary())
        roomy = heights[-1]
        render_audit_summary(full_visit())

    assert heights[-1] < roomy


def test_forty_zones_flow_to_more_pages_with_repeated_heads():
    reader = read(many_zones(40))
    words = [page.extract_text() for page in reader.pages]

    assert len(words) > 4
    assert all("Needs, July" in page for page in words[:2])
    assert f"Page {len(words)} of {len(words)}" in words[-1]


def test_one_zone_takes_two_pages():
    content = make_summary(zones=six_zones()[:1], season=six_seasons()[:1])

    assert len(read(content).pages) == 2
