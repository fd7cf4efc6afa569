"""Days without weather and what stands in for it."""

from __future__ import annotations

import math

import numpy as np

from scheduling.domain.daily_climate import daily_climate
from scheduling.domain.usual_weather import usual_et0_mm, whole_days
from tests.scheduling.domain.zones import make_climate

NAN = math.nan
DATES = np.datetime64("2026-06-01") + np.arange(4)


def refuse(dates):
    raise AssertionError("nobody needs the usual year")


def test_a_missing_et0_is_the_usual_one_and_missing_rain_is_none_and_both_are_marked():
    et0_mm = np.array([5.0, NAN, 4.0, NAN])

    days = whole_days(
        DATES, et0_mm, np.array([NAN, 2.0, 0.0, NAN]), lambda gaps: np.arange(gaps.size) + 1.0
    )

    assert days.et0_mm.tolist() == [5.0, 1.0, 4.0, 2.0]
    assert days.rain_mm.tolist() == [0.0, 2.0, 0.0, 0.0]
    assert days.et0_is_usual.tolist() == [False, True, False, True]
    assert days.rain_is_unknown.tolist() == [True, False, False, True]
    assert days.is_usual.tolist() == [True, True, False, True]
    assert np.isnan(et0_mm[1])  # what was given stays as it was


def test_days_without_gaps_ask_for_no_usual_year():
    assert not whole_days(DATES, np.full(4, 5.0), np.zeros(4), refuse).is_usual.any()


def test_a_day_of_the_year_that_was_never_seen_has_the_usual_of_its_month():
    # Arithmetic: only June of a year is known; its window reaches a week into July.
    june = np.datetime64("2025-06-01") + np.arange(30)
    by_day = daily_climate(june, et0_mm=np.full(30, 5.0), rain_mm=np.zeros(30))
    months = make_climate(*range(1, 13))
    dates = np.array(["2026-06-15", "2026-07-20"], dtype="datetime64[D]")

    assert usual_et0_mm(dates, by_day, lambda: months).tolist() == [5.0, 7.0]
    assert usual_et0_mm(dates[:1], by_day, lambda: refuse(dates)).tolist() == [5.0]
