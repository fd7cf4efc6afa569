from __future__ import annotations

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.water_balance import RootZone, Waterings, simulate
from scheduling.domain.water_columns import column, common_shape, spread

GOOD = {
    "need_mm": np.ones((3, 2)),
    "effective_rain_mm": np.zeros((3, 1)),
    "gross_mm": np.zeros((3, 2)),
    "net_fraction": 0.8,
    "runoff_mm": 0.0,
    "soak_runoff_mm": 0.0,
    "storage_mm": [10.0, 20.0],
    "reserve_mm": 0.0,
    "start_mm": None,
}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("need_mm", np.array([[1.0, np.nan]] * 3)),
        ("need_mm", np.full((3, 2), -0.1)),
        ("need_mm", np.array([[1.0, 60.0]] * 3)),
        ("effective_rain_mm", np.full((3, 1), np.inf)),
        ("gross_mm", -np.ones((3, 2))),
        ("gross_mm", np.ones((3, 5))),
        ("net_fraction", 0.0),
        ("net_fraction", 1.01),
        ("runoff_mm", 1.0),
        ("storage_mm", [10.0, -20.0]),
        ("storage_mm", [10.0, 20.0, 30.0]),
        ("storage_mm", np.ones((2, 3, 2))),
        ("reserve_mm", np.nan),
        ("start_mm", [10.0, 20.1]),
        ("start_mm", [1.0, 2.0, 3.0]),
        ("start_mm", np.nan),
    ],
)
def test_bad_input_is_refused_by_name(field, value):
    given = {**GOOD, field: value}
    water = ("gross_mm", "net_fraction", "runoff_mm", "soak_runoff_mm")
    roots = ("storage_mm", "reserve_mm", "start_mm")

    with pytest.raises(InvalidInputError) as refusal:
        simulate(
            given["need_mm"],
            given["effective_rain_mm"],
            Waterings(**{name: given[name] for name in water}),
            RootZone(**{name: given[name] for name in roots}),
        )

    assert refusal.value.field == field
    assert refusal.value.remedy


def test_columns_spread_to_days_by_zones_without_a_copy():
    columns = {"need_mm": np.ones((3, 1)), "storage_mm": np.arange(2.0), "gross_mm": np.array(0.0)}

    spread_out = spread(columns)

    assert common_shape(columns) == (3, 2)
    assert {array.shape for array in spread_out.values()} == {(3, 2)}
    assert all(np.shares_memory(spread_out[name], columns[name]) for name in columns)


def test_an_account_of_no_days_is_refused_and_one_of_no_zones_is_empty():
    with pytest.raises(InvalidInputError) as refusal:
        simulate(np.empty((0, 4)), 0.0, Waterings(gross_mm=0.0), RootZone(storage_mm=5.0))

    assert refusal.value.code == "no-days"
    nobody = simulate(np.empty((3, 0)), 0.0, Waterings(gross_mm=0.0), RootZone(storage_mm=5.0))
    assert nobody.stored_mm.shape == (3, 0)


def test_a_column_is_read_as_numbers():
    assert column([[1, 2]], field="need_mm").dtype == np.float64
