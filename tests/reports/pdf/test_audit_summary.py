from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest

from reports.domain.audit_summary import Cup, ZoneSeason
from reports.domain.formats import quantity
from reports.pdf.audit_summary import render_audit_summary
from reports.pdf.charts import month_strip
from tests.reports.examples import (
    five_mends,
    in_a_grid,
    make_season,
    make_summary,
    make_zone,
    many_zones,
)
from tests.reports.pdf.reading import example, full_example, read, words_of


# Arithmetic from the example: rate 31.6 mm/h, its interval, need 44 mm and found 88 mm a week.
@pytest.mark.parametrize(
    ("system", "shown"),
    [
        ("us", ["1.24", "1.03–1.46", "3.46", "1.73", "2,454", "mean 0.31 in"]),
        ("metric", ["31.6", "26.1–37.0", "88", "44", "228", "mean 7.9 mm"]),
    ],
)
def test_the_measured_numbers_stand_on_the_page_in_the_readers_units(system, shown):
    words = words_of(example(system))

    assert [number for number in shown if number not in words] == []


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_cup_is_drawn_with_its_catch(system):
    words = words_of(example(system))

    for zone in make_summary(system).drawn_zones:
        for cup in zone.cups_detail:
            assert quantity(cup.depth_mm, "catch_depth", system).split()[0] in words


def test_the_whole_content_is_on_paper():
    content, words = make_summary(), words_of(example())

    sentences = [
        content.headline, content.rain_rule, *content.method_notes,
        *(zone.meaning for zone in content.zones),
        *(advice for zone in content.zones for advice in zone.advice),
        *(text for mend in content.mends for text in (mend.what, mend.evidence)),
        *(caution.text for caution in content.cautions),
    ]  # fmt: skip
    assert [sentence for sentence in sentences if sentence not in words] == []
    assert "34%" in words
    assert "12 cups pooled" in words
    assert "Tarn Hollow airfield, 2004" in words


def test_the_season_shows_days_runs_and_soak():
    season = make_season(cycles=2)
    words = words_of(read(make_summary(zones=(make_zone(),), season=(season,))))

    days = ["–" if m.days_between is None else str(m.days_between) for m in season.months]
    assert " ".join(days) in words
    assert "2×17 2×17" in words
    assert "soak 40 min" in words


def test_runs_that_need_no_soak_between_them_name_none():
    months = tuple(replace(month, soak_min=0.0) for month in make_season(cycles=2).months)
    season = ZoneSeason(zone=1, months=months)
    words = words_of(read(make_summary(zones=(make_zone(),), season=(season,))))

    assert "2×17 2×17" in words
    assert "soak 0" not in words
    assert (
        words.count("soak ") == words_of(read(make_summary(zones=(), season=()))).count("soak ") + 1
    )


def test_months_without_watering_are_off_and_explained():
    season = make_season()
    words = words_of(read(make_summary(zones=(make_zone(),), season=(season,))))

    # January and December need less than the example waters for.
    assert "off 34 34 34 34 34 34 34 34 34 34 off" in words
    assert "– off: no watering; shut down and drain where it freezes." in words


def test_a_season_without_rest_needs_no_such_legend():
    months = tuple(replace(month, days_between=3) for month in make_season().months)
    season = ZoneSeason(zone=1, months=months)

    words = words_of(read(make_summary(zones=(make_zone(),), season=(season,))))

    assert "no watering" not in words


def test_what_holds_for_several_zones_is_said_once():
    words = words_of(full_example())

    shared = (
        "Zones 1, 3 and 4. An audit takes at least 24 cups, and these tests have 12, 8 and 12.",
        "Zones 2 and 5. A rate to within a quarter may take 8 cups, and these tests have 4.",
        "Zones 1, 2 and 3. Ground that stays wet favours disease.",
    )
    assert [words.count(sentence) for sentence in shared] == [1, 1, 1]


def test_a_repair_reads_label_details_evidence():
    words = words_of(full_example())

    assert (
        "2 Back lawn this season Does not reach the next head (2 heads). Restore the throw: nozzle,"
        " pressure or spacing. Along the fence, by the mailbox"
    ) in words


def test_an_estimated_zone_is_marked_wherever_its_numbers_stand():
    zone = make_zone(
        name="Bed", estimated=True, du_lq=None, cups=0, cups_detail=(), rate_interval_mm_h=None
    )
    season = make_season(estimated=True)

    first, second = (page.extract_text() for page in read(
        make_summary(zones=(zone,), season=(season,))
    ).pages)  # fmt: skip

    assert "≈ 1.24" in first
    assert "no valid test" in first
    assert second.count("≈ estimated") == 2


def test_all_strips_of_a_document_share_a_scale_that_holds_them(monkeypatch):
    scales = []

    def watched(*args, top_mm, **more):
        scales.append(top_mm)
        return month_strip(*args, top_mm=top_mm, **more)

    monkeypatch.setattr("reports.pdf.audit_summary.month_strip", watched)
    render_audit_summary(make_summary())

    assert len(scales) >= 6
    assert len(set(scales)) == 1
    assert scales[0] > 88.0


def test_urgent_repairs_come_first_and_finished_ones_last():
    words = words_of(example())
    order = ["Replace the head", "Straighten two", "New battery"]

    assert [words.index(what) for what in order] == sorted(words.index(what) for what in order)


def test_equal_content_gives_equal_bytes_within_and_across_processes():
    here = render_audit_summary(make_summary())
    render_audit_summary(many_zones(8))
    script = (
        "import sys; from tests.reports.examples import make_summary;"
        "from reports.pdf.audit_summary import render_audit_summary;"
        "sys.stdout.buffer.write(render_audit_summary(make_summary()))"
    )

    elsewhere = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)

    assert render_audit_summary(make_summary()) == here
    assert elsewhere.stdout == here


def test_other_content_gives_other_bytes():
    assert render_audit_summary(make_summary()) != render_audit_summary(make_summary(revision=2))


def test_the_title_language_and_outline_are_set():
    reader = example()

    assert reader.metadata is not None
    assert reader.metadata.title == "Sprinkler audit of Farrow residence, May 19, 2026"
    assert reader.metadata.author == "Quillback Lawn Care"
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"]


def test_the_outline_leads_to_every_section():
    title, sections = example().outline

    assert title.title == "Farrow residence"
    pages = {item.title: example().get_destination_page_number(item) for item in sections}
    assert pages == {
        "What was measured": 0,
        "What it means": 0,
        "What to mend": 0,
        "What to set through the season": 1,
        "Cautions": 1,
        "Method and limits": 1,
    }


def test_only_embedded_typefaces_are_used_in_text():
    reader = example()
    fonts = [
        font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()
    ]
    drawn = [font for font in fonts if "DejaVu" in font["/BaseFont"]]

    assert drawn
    assert all("/FontFile2" in font["/FontDescriptor"] for font in drawn)
    assert {font["/BaseFont"] for font in fonts} - {font["/BaseFont"] for font in drawn} == set()


@pytest.mark.parametrize("name", ["Smith & Sons <Front>", '<img src="/etc/passwd">', "<b>open"])
def test_mark_up_in_any_name_is_shown_literally(name):
    mend = replace(five_mends()[0], what=name, evidence=name)
    zone = make_zone(name=name, advice=(name,))
    reader = read(
        make_summary(
            company_name=name, customer_name=name, property_name=name, technician_name=name,
            address_lines=(name,), headline=name, rain_rule=name, zones=(zone,), mends=(mend,),
            season=(make_season(),),
        )
    )  # fmt: skip

    assert words_of(reader).count(name) >= 12
    assert reader.outline[0].title == name
    assert not any(page.images for page in reader.pages)


def test_control_characters_do_not_reach_the_page():
    reader = read(make_summary(property_name="Far\x00row\x07 res\u202eidence"))

    assert "Farrow residence" in words_of(reader)
    assert reader.outline[0].title == "Farrow residence"


def test_nothing_at_all_is_said_in_words():
    content = make_summary(
        zones=(), season=(), mends=(), cautions=(), method_notes=(), weather=None, rain_rule=""
    )
    words = words_of(read(content))

    assert "No zone was measured on this visit." in words
    assert "No fault was found on this visit." in words
    assert "No program could be worked out from this visit." in words
    assert "Cautions" not in words


def test_a_zone_of_which_nothing_is_known_is_laid_out():
    zone = make_zone(
        rate_mm_h=None, rate_interval_mm_h=None, du_lq=None, du_lh=None, cu=None, cups=0,
        rating="", cups_detail=(), found_weekly_mm=None, needed_weekly_mm=None, estimated=True,
    )  # fmt: skip

    assert "no valid test" in words_of(read(make_summary(zones=(zone,), season=())))


@pytest.mark.parametrize(
    "cups",
    [
        in_a_grid((0.0,) * 12),
        in_a_grid((4.0,)),
        in_a_grid((4.0, 6.0, 5.0), columns=3),
        tuple(Cup(depth_mm=depth / 4) for depth in range(60)),
        tuple(Cup(depth_mm=5.0, x_m=1.0, y_m=1.0) for _ in range(5)),
        tuple(Cup(depth_mm=5.0, x_m=place * 1e-4, y_m=0.0) for place in range(8)),
    ],
    ids=["all dry", "one cup", "one row", "sixty without places", "one place", "a hair apart"],
)
def test_any_set_of_cups_can_be_drawn(cups):
    content = make_summary(zones=(make_zone(cups_detail=cups),), season=(make_season(),))

    assert len(read(content).pages) == 2
