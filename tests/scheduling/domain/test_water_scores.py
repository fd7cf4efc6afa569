from __future__ import annotations

import math

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.water_scores import (
    LEAST_ADEQUACY,
    LEAST_SCHEDULING_EFFICIENCY,
    MOST_EXCESS,
    MOST_MEAN_EXCESS,
    Scores,
    adequacy,
    can_be_scored,
    excess,
    scheduling_efficiency,
    scores,
    short_runs,
)


def test_the_scores_are_those_of_the_protocol():
    # SOIL-21: trade-association test protocol, from memory; the numbers are arithmetic.
    assert adequacy(100.0, 15.0) == pytest.approx(0.85)
    assert excess(80.0, 2.0, 1.0, 5.0) == pytest.approx(0.10)
    assert scheduling_efficiency(80.0, 2.0, 1.0, 5.0) == pytest.approx(0.90)


def test_the_limits_are_the_published_ones():
    # SOIL-18: Davis and Dukes 2012; SOIL-19: US EPA WaterSense specification 1.0, from memory.
    assert (LEAST_ADEQUACY, LEAST_SCHEDULING_EFFICIENCY) == (0.80, 0.95)
    assert (MOST_EXCESS, MOST_MEAN_EXCESS) == (0.10, 0.05)


def test_without_need_or_irrigation_there_is_no_score():
    assert math.isnan(adequacy(0.0, 0.0))
    assert math.isnan(excess(0.0, 0.0, 0.0, 0.0))
    assert math.isnan(scheduling_efficiency(0.0, 0.0, 0.0, 12.0))


def test_scores_take_one_number_for_each_zone():
    np.testing.assert_allclose(adequacy([100.0, 50.0], [0.0, 25.0]), [1.0, 0.5])
    np.testing.assert_allclose(excess([10.0, 0.0], 1.0, 0.0, [0.5, 0.0]), [0.15, np.nan])


def test_an_account_is_scored_over_some_of_its_days():
    # Arithmetic: store 20 mm, full; day 1 waters 10 mm onto it, day 2 nothing, day 3 and 4 want.
    account = simulate(
        [[10.0], [10.0], [5.0], [5.0]], 0.0,
        Waterings(gross_mm=[[20.0], [0.0], [0.0], [0.0]], net_fraction=0.5),
        RootZone(storage_mm=20.0),
    )  # fmt: skip

    whole, later = scores(account), scores(account, slice(2, 4))

    assert whole.excess[0] == 1.0
    assert whole.scheduling_efficiency[0] == 0.0
    assert whole.adequacy[0] == pytest.approx((30 - 10) / 30)
    assert later.adequacy[0] == 0.0
    assert math.isnan(later.excess[0])


def test_overflow_of_rain_is_no_excess_but_lowers_scheduling_efficiency():
    account = simulate(
        [[2.0], [2.0]], [[0.0], [30.0]], Waterings(gross_mm=[[10.0], [0.0]]),
        RootZone(storage_mm=20.0, start_mm=[5.0]),
    )  # fmt: skip

    judged = scores(account)

    assert judged.excess[0] == 0.0
    assert judged.scheduling_efficiency[0] == pytest.approx(1 - 23 / 10)


def made(adequacies, excesses):
    return Scores(np.array(adequacies), np.array(excesses), np.zeros(len(excesses)))


@pytest.mark.parametrize(
    ("adequacies", "excesses", "passes"),
    [
        ([0.80] * 6, [0.05] * 6, True),
        ([0.80] * 5 + [0.799], [0.0] * 6, False),
        ([1.0] * 6, [0.10, 0.10, 0.10, 0.0, 0.0, 0.0], True),
        ([1.0] * 6, [0.101, 0.0, 0.0, 0.0, 0.0, 0.0], False),
        ([1.0] * 6, [0.06] * 6, False),
        ([1.0] * 6, [math.nan] * 6, True),
        ([math.nan] * 6, [0.0] * 6, True),
    ],
)
def test_six_zones_pass_by_each_zone_and_by_their_mean(adequacies, excesses, passes):
    assert made(adequacies, excesses).passes is passes


@pytest.mark.parametrize(
    ("missing", "scored"),
    # SOIL-20: University of Florida: three missing days at most, two in a row.
    [
        ([0, 1, 1, 0, 1, 0], True),
        ([1, 1, 1, 0, 0, 0], False),
        ([1, 0, 1, 0, 1, 0, 1], False),
        ([0] * 30, True),
        ([0, 0, 0, 1, 1, 1], False),
        ([1, *[0] * 9] * 6, True),  # three in any thirty days
        ([1, *[0] * 8] * 6, False),
        ([], True),
    ],
)
def test_a_window_with_too_little_weather_is_not_scored(missing, scored):
    assert can_be_scored(missing) is scored


def test_runs_under_three_minutes_are_flagged():
    # SOIL-20: the same.
    assert short_runs([0.0, 1.0, 2.9, 3.0, 20.0]).tolist() == [False, True, True, False, False]


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: adequacy(-1.0, 0.0), "need_mm"),
        (lambda: adequacy(1.0, math.nan), "deficit_mm"),
        (lambda: excess(1.0, -0.1, 0.0, 0.0), "runoff_mm"),
        (lambda: excess(1.0, 0.1, -0.1, 0.0), "soak_runoff_mm"),
        (lambda: scheduling_efficiency(1.0, 0.1, 0.1, -1.0), "overflow_mm"),
        (lambda: short_runs([-1.0]), "run_min"),
    ],
)
def test_impossible_sums_are_refused(call, field):
    with pytest.raises(InvalidInputError) as refusal:
        call()

    assert refusal.value.field == field
