from __future__ import annotations

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain import water_histories
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.water_histories import distinct_histories


def test_zones_with_the_same_inputs_are_one_history():
    found = distinct_histories(weather=[0, 1, 0, 0, 1], storage=[10.0, 10.0, 10.0, 12.0, 10.0])

    assert found.first.tolist() == [0, 1, 3]
    assert found.of_zone.tolist() == [0, 1, 0, 2, 1]
    assert found.pick([1.0, 2.0, 3.0, 4.0, 5.0]).tolist() == [1.0, 2.0, 4.0]
    assert found.spread([7.0, 8.0, 9.0]).tolist() == [7.0, 8.0, 7.0, 9.0, 8.0]


def test_a_single_day_or_the_last_bit_makes_another_history():
    gross = np.zeros((365, 3))
    gross[200, 1] = 5.0

    assert distinct_histories(gross=gross).of_zone.tolist() == [0, 1, 0]
    assert distinct_histories(storage=[0.3, 0.1 + 0.2]).first.size == 2
    assert distinct_histories(storage=[0.0, -0.0]).first.size == 1


def test_columns_are_not_read_into_each_other():
    # The same numbers in other columns are another history.
    assert distinct_histories(weather=[1, 2], storage=[2, 1]).first.size == 2


def test_the_account_of_the_distinct_histories_is_that_of_every_zone():
    random = np.random.default_rng(5)
    kind = random.integers(40, size=3_000)
    need, gross = random.uniform(1, 8, (60, 40)), random.gamma(1.0, 8.0, (60, 40))
    storage = random.uniform(10, 50, 40)
    rain = random.gamma(0.4, 10.0, (60, 1))

    found = distinct_histories(need=need[:, kind], gross=gross[:, kind], storage=storage[kind])
    once = simulate(
        found.pick(need[:, kind]),
        rain,
        Waterings(gross_mm=found.pick(gross[:, kind])),
        RootZone(storage_mm=found.pick(storage[kind])),
    )
    every = simulate(
        need[:, kind], rain, Waterings(gross_mm=gross[:, kind]), RootZone(storage_mm=storage[kind])
    )

    assert found.first.size == len(set(kind.tolist()))
    np.testing.assert_array_equal(found.spread(once.deficit_mm), every.deficit_mm)
    np.testing.assert_array_equal(found.spread(once.stored_mm[-1]), every.stored_mm[-1])


@pytest.mark.parametrize(
    ("columns", "field"),
    [
        ({}, "columns"),
        ({"weather": [0, 1], "storage": [1.0, 2.0, 3.0]}, "storage"),
        ({"weather": [0, 1], "storage": [1.0, np.nan]}, "storage"),
    ],
)
def test_columns_that_tell_nothing_are_refused(columns, field):
    with pytest.raises(InvalidInputError) as refusal:
        water_histories.distinct_histories(**columns)

    assert refusal.value.field == field


def test_the_inputs_stay_as_they_were():
    storage = np.array([0.0, -0.0, 5.0])
    storage.flags.writeable = False

    distinct_histories(storage=storage)

    assert np.signbit(storage).tolist() == [False, True, False]
