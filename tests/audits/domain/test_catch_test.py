"""The catch test: rates, refusals and invariants."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.catch_test import (
    catch_test,
    pooled_catch_test,
    pooled_catch_test_from_volume,
    require_uniformity,
)
from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind

IN_MM = 25.4

depth_lists = st.lists(st.floats(0.01, 300.0), min_size=1, max_size=40)
durations = st.floats(0.1, 1440.0)


def test_trade_01_four_cups_poured_together():
    # Common practice: one inch from four equal cups after 15 minutes.
    test = pooled_catch_test(1.0 * IN_MM, 4, 15)

    assert test.mean_depth_mm / IN_MM == pytest.approx(0.25)
    assert test.rate_mm_h / IN_MM == pytest.approx(1.0)
    assert 0.5 * IN_MM / test.rate_mm_h * 60 == pytest.approx(30)


def test_single_cups_give_rate_uniformity_and_multiplier():
    # Arithmetic: mean 10 mm in 15 min; lowest of four 6 mm, lower half 7 mm.
    test = catch_test([8, 14, 6, 12], 15)

    assert (test.cups, test.mean_depth_mm, test.rate_mm_h) == (4, 10, 40)
    assert test.du_lq == pytest.approx(0.6)
    assert test.du_lh == pytest.approx(0.7)
    assert test.cu == pytest.approx(0.7)
    assert test.run_time_multiplier == pytest.approx(1.316, abs=0.0005)
    assert test.depths_mm == (8, 14, 6, 12)
    assert not test.is_pooled


@pytest.mark.parametrize("test", [catch_test([8, 12, 6], 15), pooled_catch_test(40, 12, 15)])
def test_uniformity_is_unknown_below_four_cups_and_when_pooled(test):
    assert (test.du_lq, test.du_lh, test.cu, test.run_time_multiplier) == (None,) * 4

    with pytest.raises(InvalidInputError) as refusal:
        require_uniformity(test)

    assert refusal.value.code == "uniformity-unknown"
    assert "four cups" in refusal.value.remedy


def test_a_known_uniformity_is_handed_over():
    assert require_uniformity(catch_test([8, 14, 6, 12], 15)) == pytest.approx(0.6)


def test_a_pooled_volume_and_a_pooled_depth_make_the_same_test():
    # 400 mL from four straight cups of 100 cm2 stand 40 mm deep in one of them.
    by_volume = pooled_catch_test_from_volume(400, 4, 100, 15, head_kind=HeadKind.ROTOR)

    assert by_volume == pooled_catch_test(40, 4, 15, HeadKind.ROTOR)


def test_more_evenly_watering_heads_have_a_narrower_interval():
    rotor = pooled_catch_test(40, 4, 15, HeadKind.ROTOR).rate_interval_mm_h
    spray = pooled_catch_test(40, 4, 15, HeadKind.SPRAY).rate_interval_mm_h

    assert spray[0] < rotor[0] < rotor[1] < spray[1]


@pytest.mark.parametrize("depths", [[0, 0, 0, 0], [0]])
def test_all_dry_is_no_test_but_a_finding(depths):
    with pytest.raises(InvalidInputError) as refusal:
        catch_test(depths, 15)

    assert refusal.value.code == "all-dry"
    assert "finding" in refusal.value.remedy


def test_all_dry_is_refused_when_pooled_too():
    for make in (
        lambda: pooled_catch_test(0, 4, 15),
        lambda: pooled_catch_test_from_volume(0, 4, 100, 15),
    ):
        with pytest.raises(InvalidInputError) as refusal:
            make()

        assert refusal.value.code == "all-dry"


@pytest.mark.parametrize("depth", [-0.1, 300.1, math.nan, math.inf, -math.inf])
def test_refuses_a_depth_beyond_belief(depth):
    for make in (lambda: catch_test([5, depth], 15), lambda: pooled_catch_test(depth, 4, 15)):
        with pytest.raises(InvalidInputError) as refusal:
            make()

        assert refusal.value.code == "out-of-range"


@pytest.mark.parametrize("duration", [0, -5, 1440.5, math.nan, math.inf, None])
def test_refuses_a_duration_that_is_missing_or_beyond_belief(duration):
    for make in (lambda: catch_test([5, 6], duration), lambda: pooled_catch_test(9, 4, duration)):
        with pytest.raises(InvalidInputError) as refusal:
            make()

        assert refusal.value.field == "duration_min"


@pytest.mark.parametrize("cups", [0, -1, 2.5, math.nan, 1001, None])
def test_refuses_an_impossible_number_of_pooled_cups(cups):
    for make in (
        lambda: pooled_catch_test(40, cups, 15),
        lambda: pooled_catch_test_from_volume(40, cups, 100, 15),
    ):
        with pytest.raises(InvalidInputError) as refusal:
            make()

        assert refusal.value.field == "cups"


def test_refuses_a_test_without_cups():
    with pytest.raises(InvalidInputError) as refusal:
        catch_test([], 15)

    assert refusal.value.code == "no-cups"


def test_refuses_two_tests_at_once():
    with pytest.raises(InvalidInputError) as refusal:
        catch_test([[5, 6], [7, 8]], 15)

    assert refusal.value.code == "one-test-at-a-time"


@pytest.mark.parametrize("wanted", [0, 1.5, math.nan])
def test_refuses_an_impossible_error_wanted(wanted):
    with pytest.raises(InvalidInputError):
        catch_test([5, 6], 15).cups_for(wanted)


@pytest.mark.parametrize(
    "test", [catch_test([8, 14, 6, 12, 9], 15), pooled_catch_test(40, 5, 15), catch_test([5], 15)]
)
def test_the_interval_that_a_test_has_takes_the_cups_that_it_has(test):
    half_width = test.rate_interval_mm_h[1] / test.rate_mm_h - 1

    assert test.cups_for(half_width) == test.cups
    assert test.cups_for(half_width / 2) == 4 * test.cups


def test_the_cups_advised_do_narrow_the_interval():
    wanted = 0.2
    cups = pooled_catch_test(40, 4, 15).cups_for(wanted)

    enough = pooled_catch_test(100, cups, 15)
    one_less = pooled_catch_test(100, cups - 1, 15)

    assert enough.rate_interval_mm_h[1] / enough.rate_mm_h - 1 <= wanted
    assert one_less.rate_interval_mm_h[1] / one_less.rate_mm_h - 1 > wanted


@given(depth_lists, durations)
def test_mean_lies_between_the_extremes(depths, duration):
    mean = catch_test(depths, duration).mean_depth_mm

    assert min(depths) * (1 - 1e-12) <= mean <= max(depths) * (1 + 1e-12)


@given(depth_lists, durations, st.sampled_from([None, *HeadKind]))
def test_the_rate_lies_in_its_interval_and_the_interval_above_zero(depths, duration, head_kind):
    test = catch_test(depths, duration, head_kind)
    low, high = test.rate_interval_mm_h

    assert 0 <= low <= test.rate_mm_h <= high


@given(depth_lists, durations.filter(lambda minutes: minutes <= 720))
def test_rate_is_inversely_proportional_to_duration(depths, duration):
    once, twice = catch_test(depths, duration), catch_test(depths, 2 * duration)

    assert once.rate_mm_h == pytest.approx(2 * twice.rate_mm_h)
    assert once.rate_interval_mm_h == pytest.approx(np.multiply(2, twice.rate_interval_mm_h))


@given(st.lists(st.floats(0.01, 7.5), min_size=1, max_size=40), durations)
def test_pooled_and_single_cups_agree_on_the_rate(depths, duration):
    pooled = pooled_catch_test(sum(depths), len(depths), duration)

    assert pooled.rate_mm_h == pytest.approx(catch_test(depths, duration).rate_mm_h)
