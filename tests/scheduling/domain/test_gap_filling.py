"""Missing days filled from neighbours: exact small cases, invariants, and days knocked out of real
records."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.gap_filling import Bias, FilledSeries, Mark, Neighbour, fill_gaps, reconcile
from tests.scheduling.domain.english_weather import DATES, KM_FROM_NORFOLK, days_of

NAN = np.nan
YEAR = np.arange("2023-01-01", "2025-01-01", dtype="datetime64[D]")
DIFFERENCE, RATIO = Bias.DIFFERENCE, Bias.RATIO
BIAS_OF = {"tmin_c": DIFFERENCE, "tmax_c": DIFFERENCE, "rain_mm": RATIO, "et0_mm": DIFFERENCE}


def month_of(dates):
    return dates.astype("datetime64[M]").astype(int) % 12


# Arithmetic: the station is 2 warmer in winter and 5 warmer in summer than its neighbour.
def test_the_difference_is_that_of_the_season():
    other = np.linspace(0, 10, YEAR.size)
    is_summer = np.isin(month_of(YEAR), (5, 6, 7))
    own = other + np.where(is_summer, 5.0, 2.0)
    missing = np.isin(YEAR, np.array(["2023-01-10", "2023-07-10"], dtype=YEAR.dtype))

    filled = fill_gaps(YEAR, np.where(missing, NAN, own), [Neighbour(other, 10.0)], bias=DIFFERENCE)

    assert filled.values[missing] == pytest.approx(own[missing])
    assert filled.marks.sum() == 2 * Mark.FILLED
    assert filled.sources[0].tolist() == missing.tolist()


def test_december_and_january_share_a_season():
    other = np.zeros(YEAR.size)
    own = np.where(np.isin(month_of(YEAR), (10, 11)), 3.0, NAN)

    filled = fill_gaps(YEAR, own, [Neighbour(other, 10.0)], bias=DIFFERENCE)

    assert filled.values[month_of(YEAR) == 0] == pytest.approx(3.0)  # of December
    assert (filled.marks[month_of(YEAR) == 3] == Mark.GAP).all()


# Arithmetic: the nearer gauge has it dry, the farther one wet; 2 and 4 times as much falls here.
def test_rain_is_that_of_the_nearest_gauge_that_has_the_day_alone():
    near = np.where(np.arange(YEAR.size) % 5 == 0, 10.0, 0.0)
    own, far = near * 2, near / 2
    own[[101, 102, 105]] = NAN
    far[[101, 102]], near[102] = 8.0, NAN
    neighbours = [Neighbour(far, 30.0), Neighbour(near, 10.0)]

    filled = fill_gaps(YEAR, own, neighbours, bias=RATIO, lowest=0.0)

    ratio = own[~np.isnan(own)].sum() / far[~np.isnan(own)].sum()
    assert filled.values[[101, 102, 105]] == pytest.approx([0.0, 8.0 * min(ratio, 3.0), 20.0])
    assert filled.sources[:, [101, 102]].tolist() == [[False, True], [True, False]]


# Arithmetic: gauges that know nothing of one another, each wet on one day of six.
def test_filled_rain_is_wet_no_more_often_than_rain():
    random = np.random.default_rng(3)
    rain = np.where(random.random((4, 3000)) < 1 / 6, random.gamma(0.8, 8.0, (4, 3000)), 0.0)
    dates = np.datetime64("2015-01-01") + np.arange(3000)
    out = random.random(3000) < 0.3
    neighbours = [
        Neighbour(each, km) for each, km in zip(rain[1:], (20.0, 25.0, 30.0), strict=True)
    ]

    filled = fill_gaps(dates, np.where(out, NAN, rain[0]), neighbours, bias=RATIO)

    assert (filled.values[out] > 0).mean() == pytest.approx(1 / 6, abs=0.03)  # three averaged: 0.42


# Arithmetic: 40 mm here for 20 mm there on the common days.
def test_rain_is_brought_by_the_ratio_and_no_rain_stays_none():
    other = np.where(np.arange(YEAR.size) % 5 == 0, 10.0, 0.0)
    own = other * 2
    own[[100, 101]] = NAN

    filled = fill_gaps(YEAR, own, [Neighbour(other, 10.0)], bias=RATIO)

    assert filled.values[[100, 101]].tolist() == [20.0, 0.0]


@pytest.mark.parametrize(("times", "expected"), [(9.0, 30.0), (0.01, 10 / 3), (0.0, 10 / 3)])
def test_the_ratio_of_rain_is_bounded(times, expected):
    other = np.where(np.arange(YEAR.size) % 5 == 0, 10.0, 0.0)
    own = other * times
    own[100] = NAN

    filled = fill_gaps(YEAR, own, [Neighbour(other, 10.0)], bias=RATIO)

    assert filled.values[100] == pytest.approx(expected)


def test_a_neighbour_that_never_had_rain_gives_none():
    own = np.full(YEAR.size, 1.0)
    own[7] = NAN

    filled = fill_gaps(YEAR, own, [Neighbour(np.zeros(YEAR.size), 1.0)], bias=RATIO)

    assert filled.values[7] == 0.0


# Arithmetic: weights 1/10^2 and 1/20^2 are 4 to 1; the values are 10 and 20 once levelled.
def test_several_neighbours_weigh_by_the_inverse_square_of_their_distance():
    own = np.zeros(YEAR.size)
    one, two = np.zeros(YEAR.size), np.zeros(YEAR.size)
    own[50], one[50], two[50] = NAN, 10.0, 20.0

    filled = fill_gaps(YEAR, own, [Neighbour(two, 20.0), Neighbour(one, 10.0)], bias=DIFFERENCE)

    assert filled.values[50] == pytest.approx((4 * 10 + 20) / 5)
    assert filled.sources[:, 50].tolist() == [True, True]


def test_the_three_nearest_that_have_the_day_are_taken():
    own = np.zeros(YEAR.size)
    own[[50, 51]] = NAN
    others = [Neighbour(np.zeros(YEAR.size), km) for km in (40.0, 10.0, 30.0, 20.0)]
    others[1].values[51] = NAN

    filled = fill_gaps(YEAR, own, others, bias=DIFFERENCE)

    assert filled.sources[:, 50].tolist() == [False, True, True, True]
    assert filled.sources[:, 51].tolist() == [True, False, True, True]


@pytest.mark.parametrize(("common", "helps"), [(29, False), (30, True)])
def test_too_few_common_days_of_the_season_do_not_help(common, helps):
    own = np.full(YEAR.size, NAN)
    own[:common] = 1.0

    filled = fill_gaps(YEAR, own, [Neighbour(np.zeros(YEAR.size), 5.0)], bias=DIFFERENCE)

    winter = np.isin(month_of(YEAR), (0, 1, 11))  # all that January's common days can tell
    assert filled.filled_days == (winter.sum() - common if helps else 0)


@pytest.mark.parametrize(("common", "helps"), [(89, False), (90, True)])
def test_too_few_common_days_of_rain_do_not_help(common, helps):
    own = np.full(YEAR.size, NAN)
    own[:common] = 1.0

    filled = fill_gaps(YEAR, own, [Neighbour(np.ones(YEAR.size), 5.0)], bias=RATIO)

    assert filled.gap_days == (0 if helps else YEAR.size - common)


def test_a_filled_value_is_held_at_the_lowest():
    own = np.zeros(YEAR.size)
    other = np.ones(YEAR.size)
    own[10], other[10] = NAN, 0.0

    filled = fill_gaps(YEAR, own, [Neighbour(other, 5.0)], bias=DIFFERENCE, lowest=0.0)

    assert filled.values[10] == 0.0


def series(values, marks):
    marked = np.array(marks, dtype=np.int8)
    return FilledSeries(np.array(values), marked, np.zeros((0, len(values)), bool))


def test_filled_temperatures_give_way_where_they_contradict():
    low = series([12.0, 12.0, 12.0, 5.0, NAN], [Mark.FILLED, Mark.OBSERVED, Mark.FILLED,
                                                 Mark.FILLED, Mark.GAP])  # fmt: skip
    high = series([10.0, 10.0, 10.0, 9.0, 9.0], [Mark.OBSERVED, Mark.FILLED, Mark.FILLED,
                                                Mark.OBSERVED, Mark.FILLED])  # fmt: skip

    low, high = reconcile(low, high)

    assert low.values[:4].tolist() == [10.0, 12.0, 11.0, 5.0]
    assert high.values.tolist() == [10.0, 12.0, 11.0, 9.0, 9.0]
    assert np.isnan(low.values[4])


@pytest.mark.parametrize(
    ("values", "neighbour", "field"),
    [
        (np.zeros(3), Neighbour(np.zeros(YEAR.size), 1.0), "values"),
        (np.zeros(YEAR.size), Neighbour(np.zeros(3), 1.0), "neighbours/0"),
        (np.zeros(YEAR.size), Neighbour(np.zeros(YEAR.size), -1.0), "neighbours/0"),
        (np.zeros(YEAR.size), Neighbour(np.zeros(YEAR.size), NAN), "neighbours/0"),
    ],
)
def test_crooked_input_is_refused(values, neighbour, field):
    with pytest.raises(InvalidInputError) as refusal:
        fill_gaps(YEAR, values, [neighbour], bias=DIFFERENCE)

    assert refusal.value.field == field
    assert refusal.value.remedy


DAYS = 120


def column(seed, share_missing):
    random = np.random.default_rng(seed)
    values = random.choice([0.0, 1.0, 40.0], DAYS) * random.random(DAYS)
    return np.where(random.random(DAYS) < share_missing, NAN, values)


columns = st.builds(column, st.integers(0, 999), st.sampled_from([0.0, 0.1, 0.5, 0.9, 1.0]))


@settings(max_examples=80, deadline=None, derandomize=True)
@given(own=columns, others=st.lists(columns, max_size=5), bias=st.sampled_from(Bias))
def test_observed_values_never_change_and_only_missing_ones_are_filled(own, others, bias):
    neighbours = [Neighbour(other, 5.0 * place) for place, other in enumerate(others)]

    filled = fill_gaps(YEAR[:DAYS], own, neighbours, bias=bias, lowest=0.0)

    seen = ~np.isnan(own)
    assert (filled.values[seen] == own[seen]).all()
    assert ((filled.marks == Mark.OBSERVED) == seen).all()
    assert ((filled.marks == Mark.GAP) == np.isnan(filled.values)).all()
    assert ((filled.marks == Mark.FILLED) == filled.sources.any(axis=0)).all()
    assert (filled.sources.sum(axis=0) <= (3 if bias is DIFFERENCE else 1)).all()
    assert (filled.values[~np.isnan(filled.values)] >= 0).all()
    nobody = np.isnan([own, *others]).all(axis=0)
    assert (filled.marks[nobody] == Mark.GAP).all()


def test_without_a_neighbour_a_missing_day_is_a_gap():
    filled = fill_gaps(YEAR[:3], np.array([1.0, NAN, 3.0]), [], bias=DIFFERENCE)

    assert filled.marks.tolist() == [Mark.OBSERVED, Mark.GAP, Mark.OBSERVED]
    assert filled.gap_days == 1


def knocked_out(name):
    """A tenth of Norfolk's days taken out, and what its neighbours say of them: filled, and raw."""
    truth = days_of("norfolk")[name]
    out = np.random.default_rng(7).random(truth.size) < 0.1
    neighbours = [Neighbour(days_of(site)[name], km) for site, km in KM_FROM_NORFOLK.items()]
    filled = fill_gaps(DATES, np.where(out, NAN, truth), neighbours, bias=BIAS_OF[name])
    weights = [1 / km**2 for km in KM_FROM_NORFOLK.values()]
    raw = np.average([each.values for each in neighbours], axis=0, weights=weights)
    return truth[out], filled.values[out], raw[out]


def rmse(one, other):
    return float(np.sqrt(np.mean((one - other) ** 2)))


# Seen: RMSE filled / raw 0.66 / 1.05 degC, 0.66 / 0.76 degC, 0.116 / 0.140 mm of ET0.
@pytest.mark.parametrize(("name", "most"), [("tmin_c", 0.75), ("tmax_c", 0.75), ("et0_mm", 0.15)])
def test_on_real_days_taking_the_difference_out_is_better_than_leaving_it(name, most):
    truth, filled, raw = knocked_out(name)

    assert rmse(filled, truth) < 0.9 * rmse(raw, truth)
    assert rmse(filled, truth) < most
    assert abs(np.mean(filled - truth)) < 0.15 * abs(np.mean(raw - truth))


# Seen: wet above 0.1 mm 0.760 (true 0.757), above 1 mm 0.397 (0.393), RMSE 1.25 mm. Averaged over
# three: 0.783, 0.410, and 1.16 mm: the days of averaged rain are nearer, and too many of them wet.
def test_on_real_days_filled_rain_keeps_its_sum_and_its_wet_days():
    truth, filled, _ = knocked_out("rain_mm")

    assert filled.sum() == pytest.approx(truth.sum(), rel=0.03)
    for least_mm in (0.1, 1.0):
        assert (filled > least_mm).mean() == pytest.approx((truth > least_mm).mean(), abs=0.01)
    assert rmse(filled, truth) < 1.4


# The moors of North Yorkshire get 2.72 mm a day, the plain of Lincolnshire 1.94.
def test_on_real_days_the_ratio_brings_the_rain_of_the_moors_to_the_plain():
    truth, moors = days_of("lincolnshire")["rain_mm"], days_of("north_yorks")["rain_mm"]
    out = np.random.default_rng(7).random(truth.size) < 0.1

    filled = fill_gaps(DATES, np.where(out, NAN, truth), [Neighbour(moors, 110.0)], bias=RATIO)

    assert moors[out].sum() > 1.3 * truth[out].sum()
    assert filled.values[out].sum() == pytest.approx(truth[out].sum(), rel=0.08)
    assert rmse(filled.values[out], truth[out]) < rmse(moors[out], truth[out])
