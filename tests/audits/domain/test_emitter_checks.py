"""Single emitters: their flow, how evenly they drip, and what to say of a check."""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audits.domain.emitter_checks import caught_flows_l_min, emitter_advice, emitter_result
from audits.domain.point_sources import design_emission_uniformity
from properties.domain.errors import InvalidInputError

L_H = 1 / 60
EVEN = [2 * L_H] * 16


def codes(flows, **facts):
    return [advice.code for advice in emitter_advice(emitter_result(flows), **facts)]


def test_a_caught_volume_over_its_time_is_a_flow():
    # Arithmetic: 100 mL in 3 min are 2 L/h; 1 fl oz (29.5735 mL) in 60 s is 1.774 L/h.
    flows = caught_flows_l_min([100.0, 0.0], 180.0)

    assert flows == pytest.approx([2 * L_H, 0.0])
    assert caught_flows_l_min(29.5735, 60.0) * 60 == pytest.approx(1.77441)


def test_mean_and_evenness_by_hand():
    # Arithmetic: twenty emitters, five at 1 L/h and fifteen at 2: mean 1.75, low quarter 1.
    result = emitter_result([2 * L_H] * 15 + [1 * L_H] * 5)

    assert result.mean_flow_l_min == pytest.approx(1.75 * L_H)
    assert result.emission_uniformity == pytest.approx(1 / 1.75)
    assert (result.emitters, result.dry_emitters) == (20, 0)


def test_a_dry_emitter_is_a_reading_of_nothing_and_not_left_out():
    result = emitter_result([0.0, 0.0, *[2 * L_H] * 6])

    assert (result.emitters, result.dry_emitters) == (8, 2)
    assert result.mean_flow_l_min == pytest.approx(1.5 * L_H)
    assert result.emission_uniformity == 0.0


def test_those_that_drip_are_judged_apart_from_the_dry_ones():
    # Arithmetic: 16 x 100 mL and 4 x 0: a mean of 80 mL over all, of 100 over those that drip.
    result = emitter_result(caught_flows_l_min([100.0] * 16 + [0.0] * 4, 180.0))

    assert result.mean_flow_l_min == pytest.approx(1.6 * L_H)
    # The driest five are the four dry ones and one of 2 L/h: 0.4 over 1.6.
    assert result.emission_uniformity == pytest.approx(0.25)
    assert result.dripping_flow_l_min == pytest.approx(2.0 * L_H)
    assert result.dripping_uniformity == pytest.approx(1.0)
    assert (result.dry_emitters, result.dry_part) == (4, pytest.approx(0.2))


def test_the_catalogue_is_held_against_those_that_drip():
    # Arithmetic: two of eighteen dry leave 89 % over all, which is off by more than a tenth.
    flows = [0.0] * 2 + [2.0 * L_H] * 16

    assert "flow-off-catalogue" not in codes(flows, rated_flow_l_min=2.0 * L_H)
    assert "Clear or replace them first" in emitter_advice(emitter_result(flows))[0].sentence


@given(flows=st.lists(st.floats(0.001, 0.1), min_size=1, max_size=40), dry=st.integers(0, 40))
@settings(derandomize=True, max_examples=40)
def test_dry_emitters_change_nothing_of_those_that_drip(flows, dry):
    sound, clogged = emitter_result(flows), emitter_result([*flows, *[0.0] * dry])

    assert clogged.dripping_flow_l_min == pytest.approx(sound.mean_flow_l_min)
    assert clogged.dripping_uniformity == pytest.approx(sound.emission_uniformity)


@given(cv=st.floats(0.02, 0.2))
@settings(derandomize=True, max_examples=20)
def test_emitters_of_a_known_spread_come_to_the_designed_evenness(cv):
    # Second route: Keller and Karmeli 1974 (from memory), EU = 1 - 1.27 v at equal pressure.
    scores = np.array([NormalDist().inv_cdf((k + 0.5) / 400) for k in range(400)])
    flows = 2 * L_H * (1 + cv * scores)

    designed = design_emission_uniformity(cv, 1, lowest_kpa=100.0, mean_kpa=100.0)

    assert emitter_result(flows).emission_uniformity == pytest.approx(float(designed), abs=0.005)


def test_all_dry_is_a_finding_and_no_flow():
    with pytest.raises(InvalidInputError, match="No emitter drips") as refusal:
        emitter_result([0.0] * 20, field="volumes_ml")

    assert (refusal.value.code, refusal.value.field) == ("all-dry", "volumes_ml")
    assert "Record a finding" in refusal.value.remedy


@pytest.mark.parametrize("flows", [[], [float("nan")], [-0.1], [10.1], [L_H] * 501])
def test_refuses_flows_that_cannot_be(flows):
    with pytest.raises(InvalidInputError, match="emitter"):
        emitter_result(flows)


@pytest.mark.parametrize("seconds", [0.0, -5.0, float("nan"), 7201.0])
def test_refuses_a_time_that_cannot_be(seconds):
    with pytest.raises(InvalidInputError, match="time of the catch"):
        caught_flows_l_min([100.0], seconds)


# Merriam and Keller 1978 (from memory): sixteen places, good from 0.8, poor below 0.7.
@pytest.mark.parametrize(
    ("flows", "expected"),
    [
        (EVEN, []),
        (EVEN[:15], ["too-few-emitters"]),
        # A dry emitter was once told twice, as uneven too: unevenness is of those that drip, and
        # what is dry is to be mended first (common practice).
        ([0.0, *EVEN], ["dry-emitters"]),
        ([0.0, *EVEN * 2], ["dry-emitters"]),
        # Arithmetic: 2 of 20 are a tenth, 3 of 20 more.
        ([0.0] * 2 + [2 * L_H] * 18, ["dry-emitters"]),
        ([0.0] * 3 + [2 * L_H] * 17, ["dry-emitters", "many-dry-emitters"]),
        (
            [0.0] * 4 + [1 * L_H] * 5 + [2 * L_H] * 6,
            ["dry-emitters", "many-dry-emitters", "too-few-emitters", "uneven-emitters"],
        ),
        ([1.57 * L_H] * 4 + [2.1 * L_H] * 12, ["uneven-emitters"]),
        ([1.58 * L_H] * 4 + [2.1 * L_H] * 12, []),
    ],
)
def test_what_is_said_of_number_dryness_and_evenness(flows, expected):
    assert codes(flows) == expected


def test_poor_is_told_from_fair():
    fair, poor = ([x * L_H] * 4 + [2 * L_H] * 12 for x in (1.4, 1.1))

    (said_fair,) = emitter_advice(emitter_result(fair))
    (said_poor,) = emitter_advice(emitter_result(poor))

    assert "only fairly" in said_fair.sentence
    assert "poorly" in said_poor.sentence
    assert "Merriam and Keller" in said_poor.source


@pytest.mark.parametrize(
    ("least_ml", "rated", "expected"),
    [
        (25.0, 2.0, []),
        (24.9, None, ["catch-too-small"]),
        (None, 2.19, []),
        (None, 2.3, ["flow-off-catalogue"]),
        (None, 1.8, ["flow-off-catalogue"]),
    ],
)
def test_what_is_said_of_volume_and_catalogue(least_ml, rated, expected):
    rated_flow = None if rated is None else rated * L_H

    assert codes(EVEN, least_volume_ml=least_ml, rated_flow_l_min=rated_flow) == expected
