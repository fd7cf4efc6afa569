"""Found water against the need, and what a record of past weeks shows."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from audits.domain.supply import SUPPLY_WORDS, Supply, supply_verdict
from audits.domain.water_record import (
    DAYS_IN_MONTH,
    MonthlyNeed,
    WaterRecord,
    found_against_need,
)
from properties.domain.errors import InvalidInputError

# Winter to summer and back, weekly [mm].
NEED = MonthlyNeed((0, 7, 14, 21, 28, 35, 42, 35, 28, 14, 7, 0), "usual year of a made-up station")


def test_every_month_gets_its_ratio_difference_and_band():
    found = found_against_need(28.0, NEED, 100.0)

    # Arithmetic on 28 mm a week.
    assert [month.month for month in found.months] == list(range(1, 13))
    july, may, march, january = (found.months[i] for i in (6, 4, 2, 0))
    assert (july.ratio, july.difference_mm, july.verdict) == (
        pytest.approx(2 / 3), -14, Supply.TOO_LITTLE,
    )  # fmt: skip
    assert (may.ratio, may.difference_mm, may.verdict) == (1, 0, Supply.ABOUT_RIGHT)
    assert (march.ratio, march.verdict) == (2, Supply.TOO_MUCH)
    assert (january.ratio, january.difference_mm, january.verdict) == (None, 28, Supply.TOO_MUCH)


def test_what_is_put_down_is_compared_with_the_need_and_its_margin():
    # Arithmetic: at DU 0.5 the margin is 1 / 0.7; 40 mm put down feed a need of 28.
    need = MonthlyNeed((28.0,) * 12, "made up", multiplier=1 / 0.7)
    found = found_against_need(40.0, need, 100.0)

    month = found.months[0]
    assert need.weekly_gross_mm == pytest.approx((40.0,) * 12)
    assert (month.needed_mm, month.gross_needed_mm) == (28.0, pytest.approx(40.0))
    assert (month.ratio, month.difference_mm) == (pytest.approx(1.0), pytest.approx(0.0))
    assert (found.verdict, found.worst_month) == (Supply.ABOUT_RIGHT, None)
    assert found.difference_l_year == pytest.approx(0.0, abs=1e-6)
    assert found.gross_needed_l_year == pytest.approx(40 / 7 * 365 * 100)
    assert found.needed_l_year == pytest.approx(28 / 7 * 365 * 100)
    assert found_against_need(28.0, need, None).verdict is Supply.TOO_LITTLE


def test_without_a_margin_the_need_is_known_and_nothing_is_judged():
    found = found_against_need(40.0, MonthlyNeed((28.0,) * 12, "made up", multiplier=None), 1.0)

    assert (found.needed_l_year, found.gross_needed_l_year) == (pytest.approx(28 / 7 * 365), None)
    assert (found.difference_l_year, found.verdict) == (None, Supply.UNKNOWN)
    assert found.months[0].ratio is None


@pytest.mark.parametrize("multiplier", [0.99, 2.6, math.nan])
def test_refuses_a_margin_that_cannot_be(multiplier):
    with pytest.raises(InvalidInputError) as refusal:
        MonthlyNeed((1.0,) * 12, "made up", multiplier=multiplier)

    assert refusal.value.field == "multiplier"


def test_the_year_in_litres_is_days_times_daily_depth_times_area():
    found = found_against_need(14.0, NEED, 50.0)

    # Second route: 2 mm a day for 365 days; the need summed day by day.
    days = [month for month, length in enumerate(DAYS_IN_MONTH) for _ in range(length)]
    assert found.found_mm_year == pytest.approx(2 * 365)
    assert found.found_l_year == pytest.approx(2 * 365 * 50)
    assert found.needed_l_year == pytest.approx(sum(NEED.weekly_mm[m] / 7 for m in days) * 50)
    assert found.need_source == NEED.source


def test_the_worst_month_is_the_one_that_misses_by_most():
    assert found_against_need(7.0, NEED, None).worst_month == 7
    assert found_against_need(40.0, NEED, None).worst_month == 1
    assert found_against_need(NEED.weekly_mm, NEED, None).worst_month is None


def test_twelve_depths_stand_each_against_its_own_month():
    found = found_against_need(NEED.weekly_mm, NEED, None)

    assert {month.verdict for month in found.months} == {Supply.ABOUT_RIGHT}
    assert found.verdict is Supply.ABOUT_RIGHT


@pytest.mark.parametrize(("weekly_mm", "need"), [(None, NEED), (20.0, None), (None, None)])
def test_without_program_or_need_it_is_unknown_and_never_zero(weekly_mm, need):
    found = found_against_need(weekly_mm, need, 100.0)

    assert {month.verdict for month in found.months} == {Supply.UNKNOWN}
    assert {(month.ratio, month.difference_mm) for month in found.months} == {(None, None)}
    assert (found.verdict, found.worst_month) == (Supply.UNKNOWN, None)
    assert (found.found_l_year is None) == (weekly_mm is None)
    assert (found.needed_l_year is None) == (need is None)


def test_a_program_that_gives_nothing_is_known():
    found = found_against_need(0.0, NEED, 10.0)

    assert found.found_l_year == 0
    assert found.months[6].ratio == 0
    assert found.verdict is Supply.TOO_LITTLE


def test_without_an_area_there_are_depths_and_no_litres():
    found = found_against_need(10.0, NEED, None)

    assert found.found_mm_year == pytest.approx(10 * 365 / 7)
    assert found.found_l_year is None
    assert found.needed_l_year is None


def test_a_month_or_the_year_is_asked_for_by_number():
    found = found_against_need(28.0, NEED, None)

    assert found.verdict_in(7) is Supply.TOO_LITTLE
    assert found.verdict_in(None) is found.verdict is Supply.TOO_MUCH
    with pytest.raises(InvalidInputError):
        found.verdict_in(0)


@pytest.mark.parametrize(
    ("found_mm", "needed_mm", "supply"),
    [
        (87.4, 100, Supply.TOO_LITTLE),
        (87.5, 100, Supply.ABOUT_RIGHT),
        (112.4, 100, Supply.ABOUT_RIGHT),
        (112.5, 100, Supply.TOO_MUCH),
        (0, 0, Supply.ABOUT_RIGHT),
        (0.99, 0, Supply.ABOUT_RIGHT),
        (1, 0, Supply.TOO_MUCH),
        (0, 1, Supply.ABOUT_RIGHT),
        (0.9, 2, Supply.TOO_LITTLE),
        (None, 2, Supply.UNKNOWN),
        (2, None, Supply.UNKNOWN),
    ],
)
def test_the_bands_begin_and_end_where_they_are_said_to(found_mm, needed_mm, supply):
    assert supply_verdict(found_mm, needed_mm) is supply
    assert SUPPLY_WORDS[supply]


@given(st.floats(0, 200), st.floats(0, 200), st.floats(0, 140))
def test_more_water_never_lowers_the_band(one_mm, other_mm, needed_mm):
    order = [Supply.TOO_LITTLE, Supply.ABOUT_RIGHT, Supply.TOO_MUCH]
    low, high = sorted((one_mm, other_mm))

    assert order.index(supply_verdict(low, needed_mm)) <= order.index(
        supply_verdict(high, needed_mm)
    )


@given(st.lists(st.floats(0, 140), min_size=12, max_size=12), st.floats(0, 140))
def test_the_months_add_up_to_the_year(weekly_mm, found_mm):
    found = found_against_need(found_mm, MonthlyNeed(tuple(weekly_mm), "made up"), 1.0)

    missed = math.fsum(
        (month.difference_mm or 0) * days / 7
        for month, days in zip(found.months, DAYS_IN_MONTH, strict=True)
    )
    assert found.found_l_year - found.needed_l_year == pytest.approx(missed, abs=1e-6)


@pytest.mark.parametrize(
    ("weekly_mm", "source", "code"),
    [
        ((1.0,) * 11, "station", "not-twelve-months"),
        ((1.0,) * 11 + (-1.0,), "station", "out-of-range"),
        ((1.0,) * 11 + (math.nan,), "station", "out-of-range"),
        ((1.0,) * 12, " ", "missing"),
    ],
)
def test_refuses_a_need_that_is_none(weekly_mm, source, code):
    with pytest.raises(InvalidInputError) as refusal:
        MonthlyNeed(weekly_mm, source)

    assert refusal.value.code == code


@pytest.mark.parametrize("weekly_mm", [-1.0, math.inf, [1.0] * 11, [[1.0] * 12]])
def test_refuses_a_program_depth_that_is_none(weekly_mm):
    with pytest.raises(InvalidInputError):
        found_against_need(weekly_mm, NEED, None)


def test_refuses_an_impossible_area():
    with pytest.raises(InvalidInputError) as refusal:
        found_against_need(1.0, NEED, -1.0)

    assert refusal.value.field == "area_m2"


@pytest.mark.parametrize(
    ("facts", "supply", "too_wet", "too_dry"),
    [
        ({}, Supply.UNKNOWN, None, None),
        (
            {"applied_mm": 60, "need_mm": 100, "effective_rain_mm": 40},
            Supply.ABOUT_RIGHT, False, False,
        ),
        (
            {"applied_mm": 60, "need_mm": 100, "effective_rain_mm": 0},
            Supply.TOO_LITTLE, False, True,
        ),
        ({"applied_mm": 60, "need_mm": 100}, Supply.UNKNOWN, None, None),
        ({"applied_mm": 150, "need_mm": 100}, Supply.TOO_MUCH, True, False),
        ({"stress_days": 3}, Supply.UNKNOWN, None, True),
        ({"stress_days": 2}, Supply.UNKNOWN, None, False),
        ({"drainage_mm": 25, "need_mm": 100}, Supply.UNKNOWN, True, None),
        ({"drainage_mm": 24, "need_mm": 100}, Supply.UNKNOWN, False, None),
        ({"drainage_mm": 24}, Supply.UNKNOWN, None, None),
        (
            {"applied_mm": 100, "need_mm": 100, "effective_rain_mm": 0, "stress_days": 5,
             "drainage_mm": 30},
            Supply.ABOUT_RIGHT, True, True,
        ),
        ({"applied_mm": 150, "need_mm": 100, "stress_days": 5}, Supply.TOO_MUCH, True, None),
        (
            {"applied_mm": 50, "need_mm": 100, "effective_rain_mm": 0, "drainage_mm": 30},
            Supply.TOO_LITTLE, None, True,
        ),
    ],
)  # fmt: skip
def test_a_record_shows_too_wet_too_dry_or_nothing(facts, supply, too_wet, too_dry):
    record = WaterRecord(**facts)

    assert (record.supply, record.was_too_wet, record.was_too_dry) == (supply, too_wet, too_dry)


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"applied_mm": -1}, "applied_mm"),
        ({"need_mm": math.nan}, "need_mm"),
        ({"effective_rain_mm": math.inf}, "effective_rain_mm"),
        ({"drainage_mm": -0.1}, "drainage_mm"),
        ({"days": 1.5}, "days"),
        ({"days": 5, "stress_days": 6}, "stress_days"),
    ],
)
def test_refuses_a_record_that_cannot_be(facts, field):
    with pytest.raises(InvalidInputError) as refusal:
        WaterRecord(**facts)

    assert refusal.value.field == field
