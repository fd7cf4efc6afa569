"""Two ways of watering side by side; numbers are arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.replay_differences import WayOfWatering, difference, years_together

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


def test_zones_are_added_up_and_their_stress_is_that_of_a_mean_zone():
    found = years_together(np.array([[1.0, 2.0], [3.0, 4.0]]), np.array([[10.0, 20.0], [0.0, 4.0]]))

    assert (found.litres.tolist(), found.stress_days.tolist()) == ([3, 7], [15, 2])
