"""Two ways of watering side by side; numbers are arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.replay_differences import (
    WayOfWatering,
    ZoneLitres,
    difference,
    difference_interval,
)

MORE = "10 % more water in a mean year. Plants suffer on 1 day more a year."
NOTHING = "100 % less water in a mean year. Plants suffer on 80 days more a year."


def way(litres, stress=(0.0, 0.0, 0.0)):
    return WayOfWatering(np.array(litres, dtype=float), np.array(stress, dtype=float))


def test_less_water_and_fewer_days_of_stress():
    found = difference(
        way([100, 200, 300], [9, 9, 9]), way([80, 120, 190], [3, 6, 9]), price_per_m3=2.0
    )

    assert (found.litres, found.litres_low, found.litres_high) == (-70, -110, -20)
    assert found.percent == -35
    assert (found.stress_days, found.money) == (-3, pytest.approx(-0.14))
    assert found.sentence == (
        "It takes 35 % less water in a mean year. Plants suffer on 3 days fewer a year."
    )


@pytest.mark.parametrize(
    ("other", "stress", "sentence"),
    [
        ([110, 220, 330], 1.2, MORE),
        ([100, 200, 301], 0.2, "as much water. Plants suffer on as many days."),
        ([0, 0, 0], 80.0, NOTHING),
    ],
)  # fmt: skip
def test_the_sentence_tells_which_way_it_goes(other, stress, sentence):
    assert (
        difference(way([100, 200, 300]), way(other, [stress] * 3)).sentence
        == f"It takes {sentence}"
    )


def test_nothing_has_no_percentage():
    some = difference(way([0, 0, 0]), way([1, 2, 3]))
    none = difference(way([0, 0, 0]), way([0, 0, 0]))

    assert (some.percent, some.money) == (None, None)
    assert some.sentence.startswith("It takes water where none was taken.")
    assert none.sentence.startswith("Neither takes water.")


def test_the_other_way_round_has_the_other_sign():
    one, other = way([100, 210, 320], [1, 2, 3]), way([70, 220, 310], [4, 4, 4])

    there, back = difference(one, other), difference(other, one)

    assert there.litres == -back.litres
    assert (there.litres_low, there.litres_high) == (-back.litres_high, -back.litres_low)
    assert there.stress_days == -back.stress_days


def test_other_years_are_refused():
    with pytest.raises(InvalidInputError, match="same years"):
        difference(way([1, 2, 3]), way([1, 2], [0, 0]))
    with pytest.raises(InvalidInputError):
        difference(way([], []), way([], []))


def litres(years, low=0.0, high=0.0):
    values = np.array(years, dtype=float)
    zones = values.shape[1]
    return ZoneLitres(values, np.broadcast_to(low, zones), np.broadcast_to(high, zones))


def test_the_interval_of_years_is_that_of_one_more_year():
    # 100, 200 and 300 L less: mean -200, s 100. Student's t of 2 degrees, 5 % in each tail, is
    # 2.920 (any table of t): 2.920 x 100 x sqrt(4 / 3) = 337.2.
    one, other = litres([[500], [500], [500]]), litres([[400], [300], [200]])

    found = difference_interval(one, other, np.array([True]))

    assert found.years_half == pytest.approx(337.2, abs=0.1)
    assert (found.low, found.high) == pytest.approx((-537.2, 137.2), abs=0.1)
    assert (found.rates_low, found.rates_high) == (0, 0)


def test_the_errors_of_the_rates_go_with_what_each_zone_saves():
    # 300 and 400 L saved each year, by zones whose rates may be a tenth lower or a fifth higher.
    # Saved by the true rate: 300 (1 + e). Down to sqrt(60^2 + 80^2) = 100 L more, up to 50 less.
    one, other = litres([[900, 900]] * 2, -0.1, 0.2), litres([[600, 500]] * 2, -0.1, 0.2)

    found = difference_interval(one, other, np.array([True, True]))

    assert found.years_half == 0
    assert (found.rates_low, found.rates_high) == pytest.approx((100, 50))
    assert (found.low, found.high) == pytest.approx((-800, -650))


def test_years_and_rates_add_up_by_their_squares():
    one, other = litres([[500], [500], [500]], -0.5, 0.5), litres([[400], [300], [200]])

    found = difference_interval(one, other, np.array([True]))

    assert found.high - -200 == pytest.approx(np.hypot(337.2, 100), abs=0.1)


def test_another_rate_leaves_the_error_of_the_found_one_alone():
    # New nozzles: 900 L found, a tenth uncertain, whatever comes out of the new ones.
    one, other = litres([[900]] * 2, -0.1, 0.1), litres([[600]] * 2)

    found = difference_interval(one, other, np.array([False]))

    assert (found.rates_low, found.rates_high) == pytest.approx((90, 90))


def test_one_year_shows_no_spread():
    found = difference_interval(litres([[900]], -0.1, 0.1), litres([[600]]), np.array([True]))

    assert found.years_half is None
    assert (found.low, found.high) == pytest.approx((-330, -270))


def test_the_interval_holds_one_more_year_as_often_as_it_says():
    # Simulated: 2000 times five normal years and one more; nine of ten, standard error 0.007.
    random = np.random.default_rng(5)
    drawn = random.normal(-200.0, 60.0, (2000, 6, 1))
    zero = litres(np.zeros((5, 1)))
    held = [
        found.low <= years[5, 0] <= found.high
        for years in drawn
        for found in [difference_interval(zero, litres(years[:5]), np.array([True]))]
    ]

    assert np.mean(held) == pytest.approx(0.9, abs=0.02)
