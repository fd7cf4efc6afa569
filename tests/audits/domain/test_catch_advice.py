"""What the technician is told, and where each limit lies."""

from __future__ import annotations

import numpy as np
import pytest

from audits.domain.catch_advice import Purpose, advice
from audits.domain.catch_test import catch_test, pooled_catch_test
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind
from properties.domain.units import dimension, to_canonical

MPH = to_canonical(1.0, "mph", dimension("speed"))


def cups(count):
    return catch_test(np.resize([9.0, 12.0, 11.0, 8.0], count), 15)


def codes(test, **changes):
    given = {"purpose": Purpose.AUDIT} | changes
    return [each.code for each in advice(test, **given)]


def test_a_good_audit_needs_no_advice():
    assert codes(cups(24), wind_m_s=1.0, read_volume_ml=60) == []


@pytest.mark.parametrize(("mph", "expected"), [(5.0, []), (5.1, ["wind-too-high"])])
def test_can_16_wind_of_five_miles_an_hour_or_less(mph, expected):
    # Irrigation Association, Recommended Audit Guidelines, Sept 2009, steps 1-2 (ASAE S398.1).
    assert codes(cups(24), wind_m_s=to_canonical(mph, "mph", dimension("speed"))) == expected


@pytest.mark.parametrize("kind", [HeadKind.SPRAY, HeadKind.ROTOR, HeadKind.HOSE_END])
def test_can_16_a_wind_that_nobody_measured_is_told_of_heads_that_throw(kind):
    # Irrigation Association, Recommended Audit Guidelines, Sept 2009: the wind is noted.
    assert codes(cups(24), head_kind=kind) == ["wind-not-measured"]
    assert codes(cups(24), head_kind=kind, wind_m_s=0.0) == []


@pytest.mark.parametrize("kind", [HeadKind.DRIP, HeadKind.BUBBLER, None])
def test_wind_does_not_carry_water_that_is_not_thrown(kind):
    assert codes(cups(24), head_kind=kind) == []


# Irrigation Association guidelines (from memory): spray about 5 min, what turns 10 to 15.
@pytest.mark.parametrize(
    ("kind", "run_min", "is_short"),
    [
        (HeadKind.SPRAY, 4.9, True), (HeadKind.SPRAY, 5.0, False), (HeadKind.ROTOR, 9.9, True),
        (HeadKind.ROTOR, 10.0, False), (HeadKind.IMPACT, 5.0, True),
        (HeadKind.ROTARY_NOZZLE, 5.0, True), (HeadKind.BUBBLER, 1.0, False),
        (HeadKind.HOSE_END, 1.0, False), (None, 1.0, False),
    ],
)  # fmt: skip
def test_can_25_a_run_too_short_to_mean_anything(kind, run_min, is_short):
    test = catch_test(np.resize([9.0, 12.0, 11.0, 8.0], 24), run_min)

    found = codes(test, head_kind=kind, wind_m_s=0.0)

    assert found == (["run-too-short"] if is_short else [])


def test_what_turns_is_to_turn_several_times():
    short = catch_test(np.resize([9.0, 12.0, 11.0, 8.0], 24), 4)
    said = {
        kind: advice(short, purpose=Purpose.AUDIT, head_kind=kind, wind_m_s=0.0)[0].sentence
        for kind in (HeadKind.SPRAY, HeadKind.ROTOR)
    }

    assert said[HeadKind.SPRAY].endswith("at least 5 min.")
    assert said[HeadKind.ROTOR].endswith("at least 10 min, several full turns of each head.")


@pytest.mark.parametrize(
    ("count", "expected"),
    [
        (20, ["too-few-cups"]),
        (23, ["too-few-cups", "cups-not-divisible-by-four"]),
        (24, []),
        (26, ["cups-not-divisible-by-four"]),
        (40, []),
        (44, ["more-cups-than-needed"]),
    ],
)
def test_can_17_an_audit_takes_24_to_40_cups_divisible_by_four(count, expected):
    # UC Davis CCUH, L. Oki, Measuring Distribution Uniformity and Calculating Run Time.
    assert codes(cups(count)) == expected


@pytest.mark.parametrize(("count", "expected"), [(7, ["too-few-cups"]), (8, []), (9, [])])
def test_can_19_a_rate_alone_takes_eight_cups(count, expected):
    # JAWRA 2007, doi 10.1111/j.1752-1688.2007.00075.x: 2 to 8 for in-ground systems.
    assert codes(cups(count), purpose=Purpose.RATE) == expected


@pytest.mark.parametrize(("volume_ml", "expected"), [(24.9, ["catch-too-small"]), (25.0, [])])
def test_can_25_a_catch_of_about_25_ml(volume_ml, expected):
    # Irrigation Association guidelines (from memory).
    assert codes(cups(24), read_volume_ml=volume_ml) == expected


@pytest.mark.parametrize(("depth_mm", "expected"), [(4.9, ["catch-too-small"]), (5.0, [])])
def test_a_ruler_needs_five_millimetres(depth_mm, expected):
    # Arithmetic: half a millimetre is a tenth of five.
    assert codes(catch_test([depth_mm] * 24, 15)) == expected


def test_of_a_pooled_test_the_one_depth_that_was_read_counts():
    # Twelve shares of 2 mm are one reading of 24 mm.
    assert codes(pooled_catch_test(24, 12, 15), purpose=Purpose.RATE) == []


def test_flagged_cups_are_answered():
    assert codes(cups(24), has_uneven_cups=True) == ["uneven-cups"]


@pytest.mark.parametrize("odd", [0.0, 1.0, 40.0])
def test_a_single_far_cup_is_named_by_its_number(odd):
    depths = np.resize([9.5, 10.5, 10.0, 9.0], 24)
    depths[4] = odd

    (found,) = advice(catch_test(depths, 15), purpose=Purpose.AUDIT)

    assert found.code == "cup-far-from-mean"
    assert found.sentence.startswith("Cup 5 ")


def test_two_far_cups_are_a_pattern():
    depths = np.resize([9.5, 10.5, 10.0, 9.0], 24)
    depths[[4, 9]] = 0.0

    assert codes(catch_test(depths, 15)) == []


@pytest.mark.parametrize("depths", [[9.8, 10, 10.2, 13], [6, 14, 9, 11], [5, 5, 40]])
def test_ordinary_spread_and_few_cups_single_out_none(depths):
    assert "cup-far-from-mean" not in codes(catch_test(depths, 15))


# Arithmetic: standard deviation over mean of six dry and six wet cups of 12 is 1.04, of 5 and 10
# in turn 0.35.
@pytest.mark.parametrize(
    ("depths", "told"),
    [([0.0, 12.0] * 6, "set 24 cups"), ([0.0, 12.0] * 15, "set 40 cups"), ([5.0, 10.0] * 6, None)],
)
def test_catches_that_differ_widely_want_more_cups(depths, told):
    given = advice(catch_test(depths, 15), purpose=Purpose.RATE)

    found = [each.sentence for each in given if each.code == "more-cups"]
    assert bool(found) is bool(told)
    assert all(told in sentence for sentence in found)


def test_who_set_forty_cups_is_not_asked_for_more():
    assert "more-cups" not in codes(catch_test([0.0, 12.0] * 20, 15))


def test_every_advice_names_its_source():
    worst = catch_test([1, 1, 1, 1, 9], 15)

    given = advice(worst, purpose=Purpose.AUDIT, wind_m_s=9 * MPH, has_uneven_cups=True)

    assert [each.code for each in given] == [
        "wind-too-high",
        "too-few-cups",
        "cups-not-divisible-by-four",
        "catch-too-small",
        "uneven-cups",
        "cup-far-from-mean",
    ]
    assert all(each.sentence and each.source for each in given)


@pytest.mark.parametrize(
    "conditions", [{"wind_m_s": -1.0}, {"wind_m_s": float("nan")}, {"read_volume_ml": -1.0}]
)
def test_refuses_conditions_beyond_belief(conditions):
    with pytest.raises(InvalidInputError):
        advice(cups(24), purpose=Purpose.AUDIT, **conditions)
