"""Whether the 90 % interval holds the true rate: simulated zones, few cups, fixed seeds."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from audits.domain.catch_advice import Purpose, advice
from audits.domain.catch_test import catch_test, pooled_catch_test
from audits.domain.published_uniformity import field_cv
from audits.domain.rate_interval import (
    pooled_relative_half_width,
    relative_half_width,
    spread_before_cups,
)
from properties.domain.site import HeadKind

DRAWS = 2000
CUPS = (4, 6, 9, 12, 24)
# Half width of a 90 % interval in standard errors, were the spread known: normal distribution.
Z_90 = 1.6449


def triangular(x, _y):
    return 1 - 0.97 * np.abs(2 * x - 1)


def double_wedge(x, y):
    return np.minimum(1, 0.2 + 1.6 * x) * np.minimum(1, 0.2 + 1.6 * y)


def dry_strip(x, _y):
    return np.where(x < 0.25, 0.04, 1.0)


def dry_corner(x, y):
    return np.where((x < 0.45) & (y < 0.45), 0.05, 1.0)


def skewed(x, _y):
    return 0.45 - 0.55 * np.log(1 - 0.9999 * x)


PATTERNS = (triangular, double_wedge, dry_strip, dry_corner, skewed)


@cache
def true_mean_and_cv(pattern):
    centres = (np.arange(1000) + 0.5) / 1000
    depths = pattern(*np.meshgrid(centres, centres))
    return depths.mean(), depths.std() / depths.mean()


def dry_half(x, _y):
    return np.where(x < 0.5, 0.04, 1.0)


def dry_third(x, _y):
    return np.where(x < 1 / 3, 0.04, 1.0)


def heap(x, _y):
    return -np.log(1 - 0.9999 * x)


def one_jet(x, y):
    return np.where((x < 0.2) & (y < 0.3), 6.0, 0.7)


STRONGER = (dry_third, dry_half, heap, one_jet)


def simulate(pattern, cups, random, head_kind=None):
    """Return how often the interval holds the true mean, and its width against a known spread."""
    true_mean, true_cv = true_mean_and_cv(pattern)
    depths = pattern(*random.random((2, DRAWS, cups)))
    half_widths = relative_half_width(depths, head_kind)
    means = depths.mean(axis=-1)
    held = np.abs(means - true_mean) <= half_widths * means
    known = Z_90 * true_cv * true_mean / np.sqrt(cups)
    return held.mean(), np.median(half_widths * means) / known


def simulate_all(patterns, seed, head_kind=None):
    """Return for each pattern and number of cups the share held and the width."""
    random = np.random.default_rng(seed)
    cells = [[simulate(pattern, cups, random, head_kind) for cups in CUPS] for pattern in patterns]
    return np.moveaxis(np.array(cells), -1, 0)


def table(title, rows):
    lines = [f"{name:24s}" + "".join(f"{value:8.3f}" for value in row) for name, row in rows]
    return "\n".join(["", f"{title:24s}" + "".join(f"{cups:8d}" for cups in CUPS), *lines])


def print_both(patterns, held, width, head_kind):
    names = [f"{pattern.__name__} CV {true_mean_and_cv(pattern)[1]:.2f}" for pattern in patterns]
    title = str(head_kind or "any kind")
    print(table(f"{title}, held", zip(names, held, strict=True)), f"\nmean {held.mean():.3f}")
    print(table(f"{title}, width / known", zip(names, width, strict=True)))


@pytest.mark.parametrize("head_kind", [None, *HeadKind], ids=str)
def test_single_cups_hold_the_true_rate_on_five_patterns(head_kind):
    held, width = simulate_all(PATTERNS, 20050801, head_kind)

    print_both(PATTERNS, held, width, head_kind)
    assert held.min() >= 0.82
    assert held.mean() >= 0.88
    assert width[:, 2:].max() <= 2.5


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("head_kind", [HeadKind.ROTOR, HeadKind.SPRAY], ids=str)
def test_the_seed_does_not_decide_whether_the_rate_is_held(head_kind, seed):
    # All other kinds, and None, share the spread of rotors.
    held, width = simulate_all(PATTERNS, seed, head_kind)

    assert held.min() >= 0.82
    assert held.mean() >= 0.88
    assert width[:, 2:].max() <= 2.5


def test_stronger_patterns_are_held_less_and_their_small_tests_say_so():
    held, width = simulate_all(STRONGER, 1905)

    print_both(STRONGER, held, width, None)
    assert held[:, 0].min() < 0.5  # four cups do not see a jet on a twentieth of the zone
    assert np.all(held[:, -1] >= 0.75)
    for pattern in STRONGER:
        depths = pattern(*np.random.default_rng(7).random((2, 7))) + 1
        codes = [item.code for item in advice(catch_test(depths, 15), purpose=Purpose.RATE)]
        assert "too-few-cups" in codes


def test_the_patterns_reach_the_spread_that_is_claimed():
    spreads = [true_mean_and_cv(pattern)[1] for pattern in PATTERNS]

    assert min(spreads) > 0.35
    assert 0.53 < max(spreads) <= 0.55
    assert min(true_mean_and_cv(pattern)[1] for pattern in STRONGER) > 0.55


@pytest.mark.parametrize("head_kind", [None, HeadKind.ROTOR, HeadKind.SPRAY])
def test_pooled_cups_hold_the_true_rate_over_zones_of_published_spread(head_kind):
    # Each zone draws its own spread about the published one (a quarter of it as standard
    # deviation), and its depths from a gamma distribution: never negative, skewed to the right.
    random = np.random.default_rng(1990)
    spread = field_cv(head_kind) * np.clip(1 + 0.25 * random.standard_normal((DRAWS, 1)), 0.2, 2)
    held = []
    for cups in CUPS:
        means = random.gamma(spread**-2, spread**2, (DRAWS, cups)).mean(axis=-1)
        half_widths = pooled_relative_half_width(cups, head_kind) * means
        held.append((np.abs(means - 1) <= half_widths).mean())

    print(table("pooled, held", [(str(head_kind), held)]), f"\nmean {np.mean(held):.3f}")

    assert np.mean(held) >= 0.88
    assert np.mean(held) <= 0.96


def test_agreeing_cups_do_not_claim_to_be_exact():
    low, high = catch_test([10, 10, 10, 10], 60).rate_interval_mm_h

    assert high - low > 5


def test_an_even_head_kind_does_not_narrow_and_an_uneven_one_widens():
    agreeing = [10.0] * 6

    assert relative_half_width(agreeing, HeadKind.ROTOR) == relative_half_width(agreeing)
    assert relative_half_width(agreeing, HeadKind.SPRAY) > relative_half_width(agreeing)
    # Arithmetic: (1 - 0.45) / 1.27 and (1 - 0.41) / 1.27.
    assert spread_before_cups(HeadKind.ROTOR) == pytest.approx(0.43307, abs=1e-5)
    assert spread_before_cups(HeadKind.SPRAY) == pytest.approx(0.46457, abs=1e-5)


def test_six_agreeing_rotor_cups_leave_room_for_a_dry_quarter():
    # Six cups of 1 on a zone of which a quarter gets 0.04: its mean is 0.75 + 0.25 * 0.04 = 0.76.
    low, _high = catch_test([1.0] * 6, 60, HeadKind.ROTOR).rate_interval_mm_h

    assert low < 0.76


def test_more_agreeing_cups_are_believed_more():
    # Twice the cups alone would narrow by 1/sqrt(2); agreement counts on top of it.
    few, many = relative_half_width([10.0] * 12), relative_half_width([10.0] * 24)

    assert many < few / np.sqrt(2)


def test_own_and_published_spread_are_weighted_by_their_degrees_of_freedom():
    # Arithmetic: 11 degrees of freedom of no spread beside 8 of the published (1 - 0.45) / 1.27.
    expected = 1.8595 * (0.55 / 1.27) * np.sqrt(8 / 19) / np.sqrt(12)

    assert relative_half_width([10.0] * 12) == pytest.approx(expected)


def test_cups_that_differ_more_than_published_are_believed_at_once():
    # Arithmetic: spread of (0, 20) x 2 is sqrt(400/3) = 11.547, so t s / sqrt(n) = 1.8595 x 5.774.
    assert relative_half_width([0, 20, 0, 20]) == pytest.approx(1.8595 * 0.5774, rel=1e-3)


def test_a_test_reports_the_half_width_of_its_own_cups_and_head_kind():
    depths = [8, 14, 6, 12, 9]
    half_width = relative_half_width(depths, HeadKind.SPRAY)

    test = catch_test(depths, 15, HeadKind.SPRAY)

    assert half_width != relative_half_width(depths)
    assert test.rate_interval_mm_h == pytest.approx(
        (test.rate_mm_h * (1 - half_width), test.rate_mm_h * (1 + half_width))
    )


def test_a_wide_interval_stops_at_zero():
    assert catch_test([0, 20, 0, 20], 60).rate_interval_mm_h[0] == 0


def test_one_cup_knows_what_one_pooled_cup_knows():
    single, pooled = catch_test([10], 15), pooled_catch_test(10, 1, 15)

    assert single.rate_interval_mm_h == pooled.rate_interval_mm_h


def test_rows_are_tests():
    depths = np.random.default_rng(3).uniform(1, 20, (5, 7))

    together = relative_half_width(depths, HeadKind.SPRAY)

    assert together.shape == (5,)
    assert together[2] == relative_half_width(depths[2], HeadKind.SPRAY)
    assert relative_half_width(depths[:, :1]).shape == (5,)
