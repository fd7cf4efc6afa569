"""Of what dates and classes an allowance is, told from its own fields."""

from __future__ import annotations

from datetime import date

import pytest

from properties.models import WaterBudget


@pytest.mark.parametrize(
    ("on", "factors"),
    # 23 CCR 968 (BUD-10): .80 to 30 June 2035; .63 to 30 June 2040; then .55.
    [
        (date(2026, 1, 1), [0.80]), (date(2035, 6, 30), [0.80]), (date(2035, 7, 1), [0.63]),
        (date(2040, 6, 30), [0.63]), (date(2040, 7, 1), [0.55]),
    ],
)  # fmt: skip
def test_the_factor_of_a_supplier_falls_by_date(on, factors):
    rows = [
        WaterBudget(factor=0.80, last_date=date(2035, 6, 30)),
        WaterBudget(factor=0.63, first_date=date(2035, 7, 1), last_date=date(2040, 6, 30)),
        WaterBudget(factor=0.55, first_date=date(2040, 7, 1)),
    ]

    assert [row.factor for row in rows if row.binds("residential", on)] == factors


def test_an_allowance_is_of_the_classes_that_it_names_or_of_all():
    named, all_ = WaterBudget(property_classes=["public"]), WaterBudget()

    assert [row.binds("public", date(2026, 6, 10)) for row in (named, all_)] == [True, True]
    assert [row.binds("commercial", date(2026, 6, 10)) for row in (named, all_)] == [False, True]
