"""Local calibration, on real years and on days whose answer is known."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from properties.domain.errors import InvalidInputError
from scheduling.domain.et0_calibration import ENOUGH_DAYS, calibrated
from scheduling.domain.evapotranspiration import local_calibration
from tests.scheduling.domain.test_evapotranspiration_agreement import by_temperatures, in_full
from tests.scheduling.domain.typical_years import YEARS, miami

DATES = np.datetime64("2021-01-01") + np.arange(365)
INDEX = np.arange(365)
HALVES = {
    "odd days": INDEX % 2 == 1,
    "even days": INDEX % 2 == 0,
    "odd months": miami().months % 2 == 1,
    "even months": miami().months % 2 == 0,
    "first half of the year": INDEX < 182,
    "second half of the year": INDEX >= 182,
}


def both(name: str):
    year = YEARS[name]()
    return by_temperatures(year), in_full(year)


def total_of_the_other_half(name: str, half: np.ndarray) -> tuple[float, float]:
    """Total over total of the days that the fit did not see, plain and calibrated."""
    plain, full = both(name)
    fit = local_calibration(plain[half], full[half], dates=DATES[half])
    unseen, truth = plain[~half], full[~half].sum()
    return float(unseen.sum() / truth), float(fit.apply(unseen).sum() / truth)


@pytest.mark.parametrize("half", HALVES)
def test_half_a_year_brings_the_other_half_of_a_windy_coast_within_a_tenth(half):
    plain, after = total_of_the_other_half("Miami", HALVES[half])

    print(f"\n{half:24} plain {plain:.3f} calibrated {after:.3f}")
    assert plain < 0.80
    assert after == pytest.approx(1.0, abs=0.10)


@pytest.mark.parametrize(
    ("half", "low", "high"),
    [("odd days", 0.97, 1.03), ("even days", 0.97, 1.03), ("odd months", 0.93, 1.07),
     ("even months", 0.93, 1.07)],
)  # fmt: skip
def test_it_helps_at_a_cold_windy_coast_where_the_seasons_are_mixed(half, low, high):
    plain, after = total_of_the_other_half("Sand Point", HALVES[half])

    assert plain < 0.75
    assert low < after < high


def test_a_season_does_not_speak_for_another_one():
    # At Sand Point spring is windy and dry, autumn is not: each half of the year misses the other
    # by about a fifth, which is why a calibration says what months it stands on.
    _, from_spring = total_of_the_other_half("Sand Point", HALVES["first half of the year"])
    _, from_autumn = total_of_the_other_half("Sand Point", HALVES["second half of the year"])

    assert from_spring == pytest.approx(0.83, abs=0.02)
    assert from_autumn == pytest.approx(1.21, abs=0.02)


@pytest.mark.parametrize(
    ("name", "helps_a_lot"), [("Greensboro", False), ("Miami", True), ("Sand Point", True)]
)
def test_it_says_honestly_how_much_it_helps(name, helps_a_lot):
    fit = local_calibration(*both(name), dates=DATES)

    print(f"\n{name:11} {fit}")
    assert fit.helps
    assert (fit.rmse_after_mm < 0.8 * fit.rmse_before_mm) is helps_a_lot
    assert abs(fit.bias_after_mm) < 0.02


def test_slope_and_offset_are_those_of_least_squares():
    plain, full = both("Miami")

    fit = local_calibration(plain, full)

    slope, offset = np.polyfit(plain, full, 1)  # second route
    assert (fit.slope, fit.offset_mm) == pytest.approx((slope, offset))
    assert (fit.days, fit.months, fit.first_date) == (365, (), None)
    difference = plain - full
    assert fit.bias_before_mm == pytest.approx(difference.mean())
    assert fit.rmse_before_mm == pytest.approx(np.sqrt((difference**2).mean()))


def test_the_error_after_is_of_days_that_the_fit_did_not_see():
    plain, full = both("Miami")
    fold = INDEX // 10 % 3  # second route: every third ten days left out in turn
    unseen = np.empty(365)
    for left_out in range(3):
        seen = fold != left_out
        line = np.polynomial.Polynomial.fit(plain[seen], full[seen], 1)
        unseen[~seen] = line(plain[~seen]) - full[~seen]

    fit = local_calibration(plain, full, dates=DATES)

    assert fit.rmse_after_mm == pytest.approx(np.sqrt((unseen**2).mean()))
    assert fit.bias_after_mm == pytest.approx(unseen.mean())
    seen_itself = fit.apply(plain) - full
    assert fit.rmse_after_mm > np.sqrt((seen_itself**2).mean())


def test_the_order_of_the_days_does_not_matter_and_gaps_are_left_out():
    plain, full = both("Miami")
    with_gaps = np.concatenate([full, [np.nan, 5.0]])
    dates = np.concatenate([DATES, [np.datetime64("2022-01-01"), np.datetime64("2022-01-02")]])
    shuffled = np.random.default_rng(3).permutation(367)
    columns = (np.concatenate([plain, [4.0, np.nan]])[shuffled], with_gaps[shuffled])

    fit = local_calibration(*columns, dates=dates[shuffled])

    assert fit == local_calibration(plain, full, dates=DATES)
    assert (fit.days, fit.last_date) == (365, dt.date(2021, 12, 31))


def test_it_names_the_season_that_it_stands_on():
    plain, full = both("Miami")
    summer = miami().summer

    fit = local_calibration(plain[summer], full[summer], dates=DATES[summer])

    assert fit.season == "June, July, August, September"
    assert (fit.first_date, fit.last_date) == (dt.date(2021, 6, 1), dt.date(2021, 9, 30))
    assert local_calibration(plain, full, dates=DATES).season == "the whole year"
    assert local_calibration(plain, full).season == ""


def refusal_of(*columns, dates=None):
    with pytest.raises(InvalidInputError) as refusal:
        local_calibration(*columns, dates=dates)
    return refusal.value


def test_refuses_too_few_days_and_says_how_many():
    plain, full = (column.copy() for column in both("Miami"))
    full[ENOUGH_DAYS - 1 :] = np.nan

    refusal = refusal_of(plain, full)

    assert (refusal.code, refusal.field) == ("too-few-days", "penman_monteith_mm")
    assert "89 days" in refusal.detail
    assert "90" in refusal.detail
    full[ENOUGH_DAYS - 1] = 4.0
    assert local_calibration(plain, full).days == ENOUGH_DAYS


@pytest.mark.parametrize("full", [np.linspace(8, 1, 200), np.full(200, 3.0)])
def test_refuses_days_that_do_not_go_together(full):
    assert refusal_of(np.linspace(1, 8, 200), full).code == "no-relation"


def test_refuses_days_that_are_all_alike():
    assert refusal_of(np.full(200, 3.0), np.linspace(1, 8, 200)).code == "no-relation"


@pytest.mark.parametrize(
    ("plain", "full", "dates", "field", "code"),
    [
        (np.ones(200), np.ones(199), None, "penman_monteith_mm", "length"),
        (np.ones((2, 100)), np.ones((2, 100)), None, "penman_monteith_mm", "length"),
        (np.ones(200), np.ones(200), DATES, "penman_monteith_mm", "length"),
        (np.ones(365), np.ones(365), np.repeat(DATES[:73], 5), "dates", "dates"),
        (np.ones(200) * -1, np.ones(200), None, "hargreaves_mm", "out-of-range"),
        (np.ones(200), np.ones(200) * 400, None, "penman_monteith_mm", "out-of-range"),
    ],
)
def test_refuses_crooked_columns(plain, full, dates, field, code):
    refusal = refusal_of(plain, full, dates=dates)

    assert (refusal.field, refusal.code) == (field, code)


def test_calibrated_et0_is_never_negative_and_knows_what_is_missing():
    assert calibrated([0.0, 5.0, np.nan], 1.2, -1.0) == pytest.approx(
        np.array([0.0, 5.0, np.nan]), nan_ok=True
    )
    assert np.isnan(calibrated(5.0, np.nan, np.nan))


@given(slope=st.floats(0.3, 2), offset_mm=st.floats(-0.5, 2), seed=st.integers(0, 50))
@settings(derandomize=True, max_examples=40)
def test_a_line_is_found_again(slope, offset_mm, seed):
    plain = np.random.default_rng(seed).uniform(2, 9, 120)

    fit = local_calibration(plain, offset_mm + slope * plain)

    assert (fit.slope, fit.offset_mm) == pytest.approx((slope, offset_mm), abs=1e-9)
    assert fit.rmse_after_mm == pytest.approx(0, abs=1e-9)
