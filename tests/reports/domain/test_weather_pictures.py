from __future__ import annotations

import math
from datetime import date

import pytest

from properties.domain.errors import InvalidInputError
from reports.domain.weather_pictures import DailyDepths, StoredWater, source_line

DAY = date(2026, 6, 1)
DEPTHS = {"title": "T", "source": "S", "system": "metric", "first_date": DAY,
          "et0_mm": (4.0, None), "rain_mm": (0.0, 2.0), "filled": (False, True)}  # fmt: skip
STORE = {"title": "T", "system": "us", "first_date": DAY, "capacity_mm": 40.0, "limit_mm": 20.0,
         "stored_mm": (30.0, None), "watered_mm": (0.0, 9.0), "rain_mm": (0.0, 2.0),
         "usual": (False, False), "setting_since": DAY}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "whole", "changes", "field"),
    [
        (DailyDepths, DEPTHS, {"rain_mm": (1.0,)}, "et0_mm"),
        (DailyDepths, DEPTHS, {"et0_mm": (), "rain_mm": (), "filled": ()}, "et0_mm"),
        (DailyDepths, DEPTHS, {"et0_mm": (4.0, -1.0)}, "et0_mm"),
        (DailyDepths, DEPTHS, {"rain_mm": (4.0, math.nan)}, "rain_mm"),
        (DailyDepths, DEPTHS, {"rain_mm": (4.0, math.inf)}, "rain_mm"),
        (StoredWater, STORE, {"stored_mm": (1.0,)}, "stored_mm"),
        (StoredWater, STORE, {"watered_mm": (1.0, -2.0)}, "watered_mm"),
        (StoredWater, STORE, {"usual": (True,)}, "stored_mm"),
        (StoredWater, STORE, {"capacity_mm": 0.0}, "capacity_mm"),
        (StoredWater, STORE, {"capacity_mm": math.nan}, "capacity_mm"),
        (StoredWater, STORE, {"limit_mm": 41.0}, "limit_mm"),
    ],
)
def test_what_cannot_be_drawn_is_refused(kind, whole, changes, field):
    kind(**whole)

    with pytest.raises(InvalidInputError) as refusal:
        kind(**{**whole, **changes})

    assert refusal.value.field == field
    assert refusal.value.remedy


# 16.09344 km are ten international miles.
@pytest.mark.parametrize(
    ("system", "filled", "unknown", "line"),
    [
        ("us", 0, 0, "Mill, 10.0 miles away"),
        ("metric", 1, 14, "Mill, 16.1 km away; one day filled in; 14 days unknown"),
    ],
)
def test_a_picture_says_whose_weather_it_shows(system, filled, unknown, line):
    assert source_line("Mill", 16.09344, filled=filled, unknown=unknown, system=system) == line


@pytest.mark.parametrize(
    ("since", "days"),
    [(date(2026, 5, 1), 0), (DAY, 0), (date(2026, 6, 2), 1), (date(2026, 7, 1), 2), (None, 2)],
)
def test_days_without_a_setting_are_those_before_it(since, days):
    assert StoredWater(**{**STORE, "setting_since": since}).unset_days == days
