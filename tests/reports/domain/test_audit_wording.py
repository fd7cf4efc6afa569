from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reports.domain.audit_summary import ZoneSeason
from reports.domain.audit_wording import (
    headline,
    is_overwatered,
    is_underwatered,
    ratio_words,
    zone_meaning,
)
from reports.domain.cautions import standard_cautions, standard_method_notes
from tests.reports.examples import JULY, five_mends, make_season, make_zone

FRACTIONS = {
    0.0: "next to nothing of what",
    0.25: "about a quarter of what",
    0.5: "about half of what",
    0.75: "about three quarters of what",
    1.0: "about what",
    1.25: "about a quarter more than",
    1.5: "about one and a half times what",
    2.0: "about twice what",
    2.5: "about two and a half times what",
    3.0: "about three times what",
    4.0: "about four times what",
}


@given(st.floats(0.0, 4.4))
def test_a_ratio_is_told_by_the_nearest_plain_fraction(ratio):
    gap = min(abs(ratio - fraction) for fraction in FRACTIONS)
    nearest = {words for value, words in FRACTIONS.items() if abs(ratio - value) <= gap + 1e-9}

    assert ratio_words(ratio) in nearest


def test_an_absurd_ratio_is_not_given_a_number():
    assert ratio_words(10.4) == "about ten times what"
    assert ratio_words(400.0) == ratio_words(float("inf")) == "more than ten times what"


def meaning(found=44.0, needed=44.0, du_lq=0.6, **more):
    return zone_meaning(
        month=JULY, found_weekly_mm=found, needed_weekly_mm=needed, du_lq=du_lq, **more
    )


def test_a_meaning_says_how_supply_stands_to_need():
    assert meaning(found=88.0).startswith("Gets about twice what it needs in July. ")
    assert meaning(found=22.0).startswith("Gets about half of what it needs in July. ")
    assert meaning().startswith("Gets about what it needs in July. ")


@pytest.mark.parametrize(
    ("ratio", "too_much", "too_little"),
    [
        (None, False, False), (0.0, False, True), (0.874, False, True), (0.875, False, False),
        (1.0, False, False), (1.124, False, False), (1.125, True, False), (3.0, True, False),
    ],
)  # fmt: skip
def test_only_clearly_more_or_less_than_needed_is_amiss(ratio, too_much, too_little):
    assert (is_overwatered(ratio), is_underwatered(ratio)) == (too_much, too_little)


def test_an_unknown_program_or_need_is_said_to_be_unknown():
    assert meaning(found=None).startswith("Its present program is unknown.")
    assert meaning(needed=None).startswith("What it needs is unknown.")


@pytest.mark.parametrize(
    ("du_lq", "words"),
    [
        (0.70, "falls evenly"),
        (0.69, "falls fairly evenly"),
        (0.54, "falls unevenly"),
        (0.39, "falls very unevenly"),
    ],
)
def test_evenness_is_told_in_words_with_its_figure(du_lq, words):
    sentence = meaning(du_lq=du_lq)

    assert words in sentence
    assert f"(driest quarter: {du_lq:.0%})" in sentence


def test_very_uneven_water_asks_for_repair_before_minutes():
    assert "repair comes before more minutes" in meaning(du_lq=0.39)
    assert "repair" not in meaning(du_lq=0.41)


def test_evenness_is_never_invented():
    assert "evenness is unknown" in meaning(du_lq=None, pooled=True)
    assert "estimated from its heads" in meaning(du_lq=None, estimated=True)
    assert "is unknown" in meaning(du_lq=None)


@given(st.none() | st.floats(0, 300), st.none() | st.floats(0, 300), st.none() | st.floats(0, 1))
def test_a_meaning_is_two_sentences_and_never_a_diagnosis(found, needed, du_lq):
    sentence = meaning(found, needed, du_lq)

    assert sentence.count(".") == 2
    assert not {"infected", "infested", "has disease"} & set(sentence.split())


def test_the_headline_names_the_zone_in_which_most_water_goes_amiss():
    # Need is 44 mm: 22 mm on 400 m2 are 8,800 L amiss; 40 mm on 10 m2 are 400 L.
    lawn = make_zone(1, name="Lawn", area_m2=400.0, found_weekly_mm=66.0)
    bed = make_zone(2, name="Bed", area_m2=10.0, found_weekly_mm=4.0)

    assert headline([bed, lawn], five_mends(), month=JULY).startswith(
        "Lawn (zone 1) gets about one and a half times what it needs in July; "
        "four repairs are open."
    )


def test_the_headline_does_not_count_what_was_mended_on_the_spot():
    mends = [replace(mend, done_on_the_spot=True) for mend in five_mends()]

    assert "no repair is open" in headline([make_zone()], mends, month=JULY)
    assert "one repair is open" in headline([make_zone()], five_mends()[:1], month=JULY)


def test_the_headline_is_calm_when_every_zone_is_near_its_need():
    zones = [make_zone(found_weekly_mm=45.0)]

    assert headline(zones, [], month=JULY).startswith("No zone gets far from what it needs in July")


def test_the_headline_says_what_is_not_known():
    words = headline([make_zone(found_weekly_mm=None)], [], month=JULY)

    assert words.startswith("How well the present program meets the need is not known")
    assert words.endswith("What to set instead is still to be worked out.")


def season_of(zone: int, july_mm: float) -> ZoneSeason:
    months = list(make_season(zone).months)
    months[JULY - 1] = replace(months[JULY - 1], weekly_mm=july_mm)
    return ZoneSeason(zone=zone, months=tuple(months))


@pytest.mark.parametrize(
    ("planned_mm", "words"),
    [
        (40.0, "takes about 60% less water in July."),
        (97.0, "takes about as much water as now in July."),
        (121.0, "takes about 20% more water in July."),
    ],
)
def test_the_headline_compares_the_water_of_july_in_steps_of_five_percent(planned_mm, words):
    zones = [make_zone(1, found_weekly_mm=100.0)]

    assert headline(zones, [], month=JULY, season=[season_of(1, planned_mm)]).endswith(words)


def test_the_headline_weighs_zones_by_area_and_leaves_out_unknown_programs():
    # Arithmetic: (300 x 40 + 100 x 80) / (300 x 100 + 100 x 80) = 20 / 38, 47 % less.
    zones = [
        make_zone(1, area_m2=300.0, found_weekly_mm=100.0),
        make_zone(2, area_m2=100.0, found_weekly_mm=80.0),
        make_zone(3, area_m2=900.0, found_weekly_mm=None),
    ]
    season = [season_of(1, 40.0), season_of(2, 80.0), season_of(3, 10.0)]

    assert headline(zones, [], month=JULY, season=season).endswith(
        "the zones with a known program take about 45% less water in July."
    )


def test_a_long_name_does_not_swallow_the_headline():
    assert len(headline([make_zone(name="x" * 500)], [], month=JULY)) < 200


def test_the_cautions_name_what_binds_over_our_numbers():
    texts = {caution.topic: caution.text for caution in standard_cautions()}

    assert "bind over every number here" in texts["Watering rules"]
    assert "label" in texts["Treatments"]
    assert "811" in texts["Digging"]
    assert "elsewhere the local service" in texts["Digging"]
    assert "by whom the local code licenses" in texts["Backflow"]
    assert "24 V" in texts["Electricity"]
    assert "mains" in texts["Electricity"]


def test_reclaimed_water_has_a_caution_of_its_own_right_after_the_law():
    usual, reclaimed = standard_cautions(), standard_cautions(reclaimed_water=True)

    assert [caution for caution in reclaimed if caution not in usual] == [reclaimed[1]]
    assert [caution for caution in reclaimed if caution in usual] == list(usual)
    for words in ("Not for drinking", "never joined to a drinking-water pipe", "purple", "Signs"):
        assert words in reclaimed[1].text


def test_the_method_says_that_remarks_are_no_diagnosis():
    assert any("not a diagnosis" in note for note in standard_method_notes())
