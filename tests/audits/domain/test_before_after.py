"""Two tests of the same cup places, side by side."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.before_after import before_and_after, t_90
from audits.domain.catch_test import catch_test, pooled_catch_test
from properties.domain.errors import InvalidInputError

BEFORE = catch_test([10.0, 20.0, 30.0, 40.0], 60)
AFTER = catch_test([11.0, 23.0, 32.0, 42.0], 60)


def test_the_change_is_that_of_each_place_with_its_interval():
    change = before_and_after(BEFORE, AFTER).rate_change_mm_h

    # Arithmetic: changes 1, 3, 2, 2; mean 2, s = sqrt(2/3), t(3) = 2.3534.
    half_width = 2.3534 * math.sqrt(2 / 3) / 2
    assert change.value == pytest.approx(2)
    assert change.interval == pytest.approx((2 - half_width, 2 + half_width))


def test_both_tests_stand_side_by_side_with_their_intervals():
    both = before_and_after(BEFORE, AFTER)

    assert (both.before, both.after) == (BEFORE, AFTER)
    assert both.before.rate_interval_mm_h == BEFORE.rate_interval_mm_h
    assert both.du_lq_change.value == pytest.approx(AFTER.du_lq - BEFORE.du_lq)


def test_the_pairs_show_a_change_that_two_intervals_would_hide():
    both = before_and_after(BEFORE, AFTER)

    assert both.rate_change_mm_h.interval[0] > 0
    assert both.after.rate_interval_mm_h[0] < both.before.rate_interval_mm_h[1]


def test_tests_of_different_length_are_compared_as_rates():
    half_as_long = catch_test([5.5, 11.5, 16.0, 21.0], 30)

    change = before_and_after(BEFORE, half_as_long).rate_change_mm_h

    assert change.value == pytest.approx(2)


def test_a_short_and_heavy_test_is_compared_like_any_other():
    one, two = (catch_test(np.linspace(20, high, 16), 2) for high in (40, 30))

    # Arithmetic: on the mean 5 mm less in 2 min.
    assert before_and_after(one, two).rate_change_mm_h.value == pytest.approx(-150)
    assert before_and_after(one, two).du_lq_change.interval is not None


def test_cups_are_paired_by_place_not_by_order():
    shuffled = catch_test([42.0, 11.0, 32.0, 23.0], 60)

    both = before_and_after(BEFORE, shuffled, places_before="abcd", places_after="dacb")

    straight = before_and_after(BEFORE, AFTER)
    assert both.rate_change_mm_h.interval == pytest.approx(straight.rate_change_mm_h.interval)


def test_the_uniformity_too_is_paired_by_place():
    depths = np.linspace(10, 40, 16)
    one, turned = catch_test(depths, 60), catch_test(depths[::-1], 60)

    both = before_and_after(one, turned, places_before=range(16), places_after=range(15, -1, -1))

    assert both.du_lq_change.interval == pytest.approx((0, 0), abs=1e-9)


def test_nothing_gates_a_change_for_the_worse():
    both = before_and_after(AFTER, BEFORE)

    assert both.rate_change_mm_h.value == pytest.approx(-2)


def test_one_pair_has_a_change_and_no_interval():
    both = before_and_after(catch_test([10.0], 60), catch_test([12.0], 60))

    assert (both.rate_change_mm_h.value, both.rate_change_mm_h.interval) == (2, None)
    assert both.du_lq_change is None


def test_two_pairs_have_an_interval():
    both = before_and_after(catch_test([10.0, 10.0], 60), catch_test([11.0, 13.0], 60))

    # Arithmetic: changes 1 and 3, s = sqrt 2, so the half width is t(1).
    assert both.rate_change_mm_h.interval == pytest.approx((2 - 6.3138, 2 + 6.3138))


@pytest.mark.parametrize(("cups", "known"), [(4, False), (15, False), (16, True)])
def test_the_uniformity_has_an_interval_from_16_cups_on(cups, known):
    one, two = (catch_test(np.linspace(10, high, cups), 60) for high in (30, 20))

    assert (before_and_after(one, two).du_lq_change.interval is not None) == known


def test_three_cups_have_no_uniformity_to_change():
    one, two = catch_test([10.0, 11.0, 12.0], 60), catch_test([10.0, 11.0, 13.0], 60)

    assert before_and_after(one, two).du_lq_change is None


def test_the_interval_of_the_uniformity_agrees_with_leaving_out_each_group_of_places():
    rng = np.random.default_rng(7)
    first = rng.gamma(8, 2, 4000)
    second = first * rng.normal(1, 0.1, 4000)
    one, two = (catch_test(depths[:1000], 60) for depths in (first, second))

    low, high = before_and_after(one, two).du_lq_change.interval

    # Second route: a seeded bootstrap of the places.
    picks = rng.integers(0, 1000, (400, 1000))
    changes = [
        catch_test(second[:1000][pick], 60).du_lq - catch_test(first[:1000][pick], 60).du_lq
        for pick in picks
    ]
    assert high - low == pytest.approx(2 * 1.645 * np.std(changes), rel=0.12)


def test_the_interval_holds_the_true_change_in_about_nine_of_ten_retests():
    rng = np.random.default_rng(3)
    hits = 0
    for _ in range(1000):
        pattern = rng.uniform(5, 25, 12)
        after = pattern + 2 + rng.normal(0, 1, 12)
        both = before_and_after(catch_test(pattern, 60), catch_test(after, 60))
        low, high = both.rate_change_mm_h.interval
        hits += low <= 2 <= high

    assert 870 <= hits <= 930


@pytest.mark.parametrize(
    ("before", "after", "places", "code"),
    [
        (BEFORE, catch_test([10.0, 20.0, 30.0], 60), {}, "unequal-cup-counts"),
        (pooled_catch_test(40.0, 4, 60), AFTER, {}, "pooled-cups"),
        (BEFORE, pooled_catch_test(40.0, 4, 60), {}, "pooled-cups"),
        (BEFORE, AFTER, {"places_before": "abcd", "places_after": "abce"}, "different-places"),
        (BEFORE, AFTER, {"places_before": "abcd"}, "different-places"),
        (BEFORE, AFTER, {"places_after": "abcd"}, "different-places"),
        (BEFORE, AFTER, {"places_before": "abc", "places_after": "abc"}, "different-places"),
        (BEFORE, AFTER, {"places_before": "abca", "places_after": "abca"}, "place-twice"),
    ],
)
def test_refuses_by_name_what_has_no_pairs(before, after, places, code):
    with pytest.raises(InvalidInputError) as refusal:
        before_and_after(before, after, **places)

    assert refusal.value.code == code


@pytest.mark.parametrize("degrees", [*range(1, 31), 35, 39, 50, 90, 200, 1000])
def test_t_leaves_5_percent_in_each_tail(degrees):
    # Second route: the density of t integrated from 0 to the quantile by Simpson's rule.
    x = np.linspace(0, t_90(degrees), 20_001)
    log_scale = math.lgamma((degrees + 1) / 2) - math.lgamma(degrees / 2)
    density = math.exp(log_scale) / math.sqrt(degrees * math.pi)
    density = density * (1 + x**2 / degrees) ** (-(degrees + 1) / 2)
    area = (x[1] / 3) * (density[0] + 4 * density[1::2].sum() + 2 * density[2:-1:2].sum())
    area += (x[1] / 3) * density[-1]

    assert area == pytest.approx(0.45, abs=2e-5)


@given(st.lists(st.floats(1, 100), min_size=2, max_size=30), st.floats(0.5, 3))
def test_swapping_the_tests_turns_the_change_around(depths, factor):
    one = catch_test(depths, 60)
    other = catch_test([depth * factor for depth in reversed(depths)], 45)

    there = before_and_after(one, other).rate_change_mm_h
    back = before_and_after(other, one).rate_change_mm_h

    assert back.value == pytest.approx(-there.value, abs=1e-9)
    assert back.interval == pytest.approx([-end for end in reversed(there.interval)], abs=1e-9)


@given(st.lists(st.floats(1, 100), min_size=2, max_size=30))
def test_the_same_catch_twice_is_no_change(depths):
    both = before_and_after(catch_test(depths, 60), catch_test(depths, 60))

    assert both.rate_change_mm_h.value == 0
    assert both.rate_change_mm_h.interval == (0, 0)
