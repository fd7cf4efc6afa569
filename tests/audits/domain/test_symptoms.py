"""What the water says of a symptom, judged on records made for it (TRADE-07: common practice)."""

from __future__ import annotations

import itertools
import math

import pytest

from audits.domain.symptom_words import Confidence, Explains, SymptomKind
from audits.domain.symptoms import Spot, judge
from audits.domain.water_record import MonthlyNeed, WaterRecord, found_against_need
from properties.domain.errors import InvalidInputError

NEED = MonthlyNeed((20.0,) * 12, "made up")
WET = WaterRecord(days=28, applied_mm=200, need_mm=100, effective_rain_mm=10, stress_days=0)
DRY = WaterRecord(days=28, applied_mm=40, need_mm=100, effective_rain_mm=0, stress_days=12)
RIGHT = WaterRecord(days=28, applied_mm=90, need_mm=100, effective_rain_mm=10, stress_days=0)
PROGRAM_WET, PROGRAM_DRY, PROGRAM_RIGHT = (found_against_need(mm, NEED, 1) for mm in (40, 10, 20))
MIRROR = {Explains.TOO_MUCH: Explains.TOO_LITTLE, Explains.TOO_LITTLE: Explains.TOO_MUCH}

DISEASE = SymptomKind.RING_OR_PATCH_DISEASE
CHEWING = SymptomKind.CHEWING_INSECTS
SUCKING = SymptomKind.SUCKING_INSECTS
DROUGHT = SymptomKind.DROUGHT_STRESS
MOSS = SymptomKind.MOSS_OR_ALGAE
PUDDLING = SymptomKind.PUDDLING

RECORDS = (None, WaterRecord(), WET, DRY, RIGHT)
PROGRAMS = (None, found_against_need(None, None, None), PROGRAM_WET, PROGRAM_DRY, PROGRAM_RIGHT)
UNIFORMITIES = (None, 0.3, 0.8)
SPOTS = (None, *Spot)
EVERYTHING = list(itertools.product(SymptomKind, RECORDS, PROGRAMS, UNIFORMITIES, SPOTS))


def said(symptom, record=None, found=None, du_lq=None, spot=None):
    verdict = judge(symptom, record, found, du_lq, spot=spot)
    return verdict.explains, verdict.confidence


@pytest.mark.parametrize("symptom", [DISEASE, MOSS, PUDDLING])
def test_too_much_water_explains_disease_moss_and_puddles(symptom):
    assert judge(symptom, WET).explains is Explains.TOO_MUCH


@pytest.mark.parametrize("symptom", [CHEWING, SUCKING, DROUGHT])
def test_too_little_water_explains_insects_and_drought_stress(symptom):
    assert judge(symptom, DRY).explains is Explains.TOO_LITTLE


@pytest.mark.parametrize(
    ("symptom", "record"),
    [(DISEASE, RIGHT), (MOSS, RIGHT), (MOSS, DRY), (CHEWING, WET), (DROUGHT, RIGHT)],
)
def test_water_of_the_other_kind_is_not_the_cause(symptom, record):
    assert judge(symptom, record, du_lq=0.8).explains is Explains.NOT_WATER
    assert judge(symptom, record, spot=Spot.EVERYWHERE).explains is Explains.NOT_WATER


# Common agronomy: waterlogged roots cannot draw water, so that a soaked lawn wilts too.
@pytest.mark.parametrize(
    ("du_lq", "spot", "confidence"),
    [
        (None, None, Confidence.LOW),
        (0.8, None, Confidence.MEDIUM),
        (None, Spot.EVERYWHERE, Confidence.MEDIUM),
        (0.8, Spot.WET, Confidence.MEDIUM),
        (0.3, Spot.WET, Confidence.MEDIUM),
    ],
)
@pytest.mark.parametrize("found", [None, PROGRAM_WET, PROGRAM_RIGHT])
def test_too_much_water_may_explain_wilting_at_most_probably(du_lq, spot, confidence, found):
    assert said(DROUGHT, WET, found, du_lq, spot) == (Explains.TOO_MUCH, confidence)


def test_wilting_on_soaked_ground_has_a_reason_of_its_own():
    sentence = judge(DROUGHT, WET, PROGRAM_WET, 0.8, spot=Spot.EVERYWHERE).sentence

    assert "probably explains the wilted" in sentence
    assert sentence.endswith("roots that stand wet cannot draw water.")
    assert "run dry" not in sentence


def test_a_program_that_gives_too_little_makes_wet_roots_a_guess():
    assert said(DROUGHT, WET, PROGRAM_DRY, 0.8) == (Explains.TOO_MUCH, Confidence.LOW)


def test_wilting_in_the_dry_corner_of_a_soaked_zone_is_laid_to_uneven_water():
    assert judge(DROUGHT, WET, du_lq=0.3, spot=Spot.DRY).explains is Explains.UNEVEN
    assert judge(DROUGHT, WET, du_lq=0.3).explains is Explains.UNEVEN


def test_a_program_alone_that_gives_too_much_neither_explains_wilting_nor_rules_water_out():
    for du_lq, spot in itertools.product(UNIFORMITIES, (None, Spot.EVERYWHERE)):
        verdict = judge(DROUGHT, None, PROGRAM_WET, du_lq, spot=spot)

        assert verdict.explains in (Explains.UNKNOWN, Explains.UNEVEN)


# From memory: some patch diseases are worse on dry turf.
@pytest.mark.parametrize(
    ("record", "found"), [(DRY, None), (DRY, PROGRAM_WET), (None, PROGRAM_DRY)]
)
def test_dryness_does_not_speak_water_free_of_rings_and_patches(record, found):
    assert said(DISEASE, record, found, 0.8) == (Explains.UNKNOWN, Confidence.LOW)
    assert said(DISEASE, record, found, spot=Spot.EVERYWHERE)[0] is Explains.UNKNOWN


def test_water_is_ruled_out_of_no_wilting_or_patch_on_a_record_of_the_contrary_over_everything():
    for record, program, du_lq, spot in itertools.product(RECORDS, PROGRAMS, UNIFORMITIES, SPOTS):
        if record is WET:
            explains, confidence = said(DROUGHT, record, program, du_lq, spot)
            assert explains is not Explains.NOT_WATER
            assert explains is Explains.UNEVEN or confidence is not Confidence.HIGH
        if record is DRY:
            assert said(DISEASE, record, program, du_lq, spot)[0] is not Explains.NOT_WATER


def test_water_that_is_right_does_not_explain_puddles_yet_they_are_water():
    verdict = judge(PUDDLING, RIGHT, du_lq=0.8, spot=Spot.EVERYWHERE)

    assert verdict.explains is Explains.UNKNOWN
    assert "leak" in verdict.ask


def test_disease_in_the_low_wet_spot_is_laid_to_uneven_water_first():
    assert said(DISEASE, RIGHT, spot=Spot.WET) == (Explains.UNEVEN, Confidence.MEDIUM)
    assert said(DISEASE, RIGHT, du_lq=0.8, spot=Spot.WET) == (Explains.UNEVEN, Confidence.LOW)
    assert said(DISEASE, DRY, du_lq=0.3, spot=Spot.WET) == (Explains.UNEVEN, Confidence.MEDIUM)


def test_wilting_in_the_dry_spot_of_an_uneven_zone_is_laid_to_uneven_water():
    assert said(DROUGHT, RIGHT, du_lq=0.3, spot=Spot.DRY) == (Explains.UNEVEN, Confidence.HIGH)
    assert said(DROUGHT, du_lq=0.3, spot=Spot.DRY) == (Explains.UNEVEN, Confidence.MEDIUM)
    assert said(DROUGHT, du_lq=0.3) == (Explains.UNEVEN, Confidence.LOW)


def test_a_symptom_all_over_is_not_laid_to_uneven_water():
    assert judge(DROUGHT, RIGHT, du_lq=0.3, spot=Spot.EVERYWHERE).explains is Explains.NOT_WATER
    assert judge(DROUGHT, du_lq=0.3, spot=Spot.EVERYWHERE).explains is Explains.UNKNOWN


def test_a_symptom_where_the_water_is_not_is_unknown_in_an_uneven_zone():
    assert judge(DISEASE, WET, du_lq=0.3, spot=Spot.DRY).explains is Explains.UNKNOWN
    assert said(DISEASE, WET, du_lq=0.8, spot=Spot.DRY) == (Explains.TOO_MUCH, Confidence.LOW)


def test_right_water_and_unmeasured_evenness_leave_it_unknown():
    assert judge(DROUGHT, RIGHT).explains is Explains.UNKNOWN


@pytest.mark.parametrize(("symptom", "spot"), list(itertools.product(SymptomKind, SPOTS)))
def test_without_record_program_and_uniformity_it_is_unknown(symptom, spot):
    nothing_known = found_against_need(None, NEED, None)

    assert said(symptom, spot=spot) == (Explains.UNKNOWN, Confidence.LOW)
    assert said(symptom, WaterRecord(), nothing_known, spot=spot)[0] is Explains.UNKNOWN


def test_evidence_that_agrees_makes_it_surer_and_evidence_that_does_not_less_sure():
    assert said(DROUGHT, None, PROGRAM_DRY) == (Explains.TOO_LITTLE, Confidence.LOW)
    assert said(DROUGHT, DRY) == (Explains.TOO_LITTLE, Confidence.MEDIUM)
    assert said(DROUGHT, DRY, PROGRAM_DRY) == (Explains.TOO_LITTLE, Confidence.HIGH)
    assert said(DROUGHT, DRY, spot=Spot.EVERYWHERE) == (Explains.TOO_LITTLE, Confidence.HIGH)
    assert said(DROUGHT, DRY, PROGRAM_DRY, spot=Spot.WET) == (
        Explains.TOO_LITTLE, Confidence.MEDIUM,
    )  # fmt: skip
    assert said(DROUGHT, RIGHT, spot=Spot.DRY) == (Explains.UNEVEN, Confidence.MEDIUM)
    assert said(DROUGHT, DRY, PROGRAM_WET) == (Explains.TOO_LITTLE, Confidence.LOW)


def test_the_record_weighs_more_than_the_program():
    assert judge(DISEASE, WET, PROGRAM_DRY).explains is Explains.TOO_MUCH
    assert judge(MOSS, DRY, PROGRAM_WET, 0.8).explains is Explains.NOT_WATER


def test_the_program_is_judged_by_the_month_that_is_asked_for():
    summer = MonthlyNeed((5,) * 5 + (60,) * 3 + (5,) * 4, "made up")
    found = found_against_need(20.0, summer, None)

    assert judge(DROUGHT, None, found, month=7).explains is Explains.TOO_LITTLE
    assert judge(DISEASE, None, found, month=1).explains is Explains.TOO_MUCH


def test_a_record_of_two_minds_does_not_decide():
    watered_too_seldom = WaterRecord(applied_mm=200, need_mm=100, stress_days=10)

    assert judge(DROUGHT, watered_too_seldom, du_lq=0.8).explains is Explains.UNKNOWN


def test_the_evidence_names_each_thing_that_is_known():
    drained = WaterRecord(
        applied_mm=200, need_mm=100, effective_rain_mm=0, drainage_mm=80, stress_days=4
    )

    assert judge(DISEASE, drained, PROGRAM_RIGHT, 0.3, spot=Spot.WET).evidence == (
        "Water and rain of the past weeks came to too much for the need.",
        "On several days of these weeks the plants were short of water.",
        "Much of the water of these weeks drained below the roots.",
        "The program as it was found gives about what is needed, rain left out.",
        "The cups show uneven water.",
        "It is seen where the ground is wet.",
    )
    assert judge(DISEASE).evidence == ()


@pytest.mark.parametrize("du_lq", [0.549, 0.55])
def test_uneven_begins_below_a_uniformity_of_55_percent(du_lq):
    expected = Explains.UNEVEN if du_lq < 0.55 else Explains.NOT_WATER

    assert judge(DROUGHT, RIGHT, du_lq=du_lq).explains is expected


@pytest.mark.parametrize("du_lq", [-0.1, 1.1, math.nan])
def test_refuses_an_impossible_uniformity(du_lq):
    with pytest.raises(InvalidInputError):
        judge(DISEASE, du_lq=du_lq)


def test_the_sentence_is_as_sure_as_the_verdict():
    assert "may explain the rings" in judge(DISEASE, None, PROGRAM_WET).sentence
    assert "probably explains the rings" in judge(DISEASE, WET).sentence
    assert "which explains the wilted" in judge(DROUGHT, DRY, PROGRAM_DRY).sentence
    assert "does not explain the wilted" in judge(DROUGHT, RIGHT, spot=Spot.EVERYWHERE).sentence


def test_wet_and_dry_are_mirror_images_over_everything():
    turned = {
        WET: WaterRecord(applied_mm=40, need_mm=100, effective_rain_mm=0),
        DRY: WaterRecord(applied_mm=200, need_mm=100),
    }
    programs = {PROGRAM_WET: PROGRAM_DRY, PROGRAM_DRY: PROGRAM_WET}
    spots = {Spot.WET: Spot.DRY, Spot.DRY: Spot.WET}
    for record, program, du_lq, spot in itertools.product(RECORDS, PROGRAMS, UNIFORMITIES, SPOTS):
        one = said(MOSS, record, program, du_lq, spot)
        other = said(
            SUCKING, turned.get(record, record), programs.get(program, program), du_lq,
            spots.get(spot, spot),
        )  # fmt: skip

        assert (MIRROR.get(one[0], one[0]), one[1]) == other


# Diseases and pests by name, products by kind or active matter: none of it is ours to say.
FORBIDDEN = (
    "you have", "infected", "infested", "suffers from disease", "brown patch", "dollar spot",
    "fairy ring", "pythium", "rhizoctonia", "fusarium", "rust", "mildew", "take-all", "anthracnose",
    "leaf spot", "snow mold", "necrotic", "chinch", "grub", "armyworm", "webworm", "cutworm",
    "mole cricket", "billbug", "aphid", "mite", "scale", "whitefl", "thrip", "pesticide",
    "insecticide", "fungicide", "herbicide", "algaecide", "spray", "treat", "apply", "copper",
    "sulfate", "neem", "bait",
)  # fmt: skip


def test_no_word_names_a_disease_a_pest_or_a_product_over_everything():
    for symptom, record, program, du_lq, spot in EVERYTHING:
        verdict = judge(symptom, record, program, du_lq, spot=spot)
        words = " ".join((verdict.sentence, *verdict.evidence, verdict.ask)).lower()

        assert not [word for word in FORBIDDEN if word in words]
        assert "{" not in words
        assert verdict.sentence.endswith(".")
        assert verdict.sentence.count(".") == 1


def test_each_verdict_says_whom_to_ask_and_none_of_living_causes_is_sure():
    for symptom, record, program, du_lq, spot in EVERYTHING:
        verdict = judge(symptom, record, program, du_lq, spot=spot)

        if symptom is PUDDLING:
            assert "technician" in verdict.ask
            assert verdict.explains is not Explains.NOT_WATER
        else:
            for whom in ("licensed plant-health professional", "county extension", "laboratory"):
                assert whom in verdict.ask
        if symptom not in (DROUGHT, PUDDLING):
            assert verdict.confidence is not Confidence.HIGH
        if verdict.explains is Explains.UNKNOWN:
            assert verdict.confidence is Confidence.LOW


def test_a_wet_symptom_is_never_laid_to_too_little_nor_insects_to_too_much():
    wet = {DISEASE, MOSS, PUDDLING}
    for symptom, record, program, du_lq, spot in EVERYTHING:
        explains = judge(symptom, record, program, du_lq, spot=spot).explains

        if symptom is DROUGHT:
            assert explains is not Explains.TOO_MUCH or record is WET
        else:
            assert explains is not (Explains.TOO_LITTLE if symptom in wet else Explains.TOO_MUCH)
