from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.climate import MONTH_DAYS, monthly_climate
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.domain.rain import daily_effective_rain_mm


def make_days(first="2015-01-01", last="2020-12-31"):
    dates = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    month = dates.astype("datetime64[M]").astype(int) % 12
    return {
        "dates": dates,
        "tmin_c": 5.0 + month,
        "tmax_c": 15.0 + 1.5 * month,
        "rain_mm": np.where(month == 6, 0.0, 2.0),
        "latitude_deg": 35.0,
    }


def test_each_month_is_the_mean_of_its_days():
    climate = monthly_climate(**make_days())

    assert climate.tmin_c == pytest.approx([5.0 + m for m in range(12)])
    assert climate.tmax_c == pytest.approx([15.0 + 1.5 * m for m in range(12)])
    july = [  # second route: day by day
        float(hargreaves(11.0, 24.0, extraterrestrial_radiation(35.0, day)))
        for year in range(2015, 2021)
        for day in range(
            dt.date(year, 7, 1).timetuple().tm_yday, dt.date(year, 8, 1).timetuple().tm_yday
        )
    ]
    assert climate.et0_mm_day[6] == pytest.approx(sum(july) / len(july))


# FAO-56, eq. 85: rain up to a fifth of the day's ET0 dries off, nine tenths of more counts, as in
# the daily account. By the event rule, January had 10.16 a day and the 2 mm of others nothing.
def test_rain_is_a_monthly_total_and_counts_as_in_the_daily_account():
    days = make_days()
    month = days["dates"].astype("datetime64[M]").astype(int) % 12
    days["rain_mm"] = np.select([month == 0, month == 1], [12.7, 0.8], 2.0)

    climate = monthly_climate(**days, et0_mm=np.full(month.size, 4.0))

    assert climate.rain_mm[0] == pytest.approx(31 * 12.7)
    assert climate.effective_rain_mm[0] == pytest.approx(31 * 0.9 * 12.7)
    assert climate.effective_rain_mm[1] == 0.0  # a month of drizzle adds nothing
    assert climate.effective_rain_mm[2] == pytest.approx(31 * 1.8)


# Arithmetic: 0.2 x 4.0 = 0.8 mm dry off.
@pytest.mark.parametrize(("rain_mm", "counted_mm"), [(0.8, 0.0), (0.9, 0.81)])
def test_rain_of_a_day_without_et0_is_judged_by_that_of_its_month(rain_mm, counted_mm):
    days = make_days()
    lacks = np.arange(len(days["dates"])) % 2 == 0
    days["tmin_c"] = np.where(lacks, np.nan, days["tmin_c"])
    days["rain_mm"] = np.where(lacks, rain_mm, np.nan)

    climate = monthly_climate(**days, et0_mm=np.where(lacks, np.nan, 4.0))

    assert climate.effective_rain_mm[0] == pytest.approx(31 * counted_mm)


def test_the_month_sums_up_what_the_days_of_the_account_add():
    days = make_days()
    random = np.random.default_rng(2)
    days["rain_mm"] = np.where(random.random(len(days["dates"])) < 0.3, 9 * random.random(), 0.0)
    et0 = hargreaves(
        days["tmin_c"],
        days["tmax_c"],
        extraterrestrial_radiation(35.0, [date.timetuple().tm_yday for date in
                                          days["dates"].tolist()]),
    )  # fmt: skip

    climate = monthly_climate(**days)

    in_april = days["dates"].astype("datetime64[M]").astype(int) % 12 == 3
    daily = daily_effective_rain_mm(days["rain_mm"], et0)[in_april]
    assert climate.effective_rain_mm[3] == pytest.approx(daily.sum() / 6)


def test_a_mean_year_has_the_gregorian_number_of_days():
    assert sum(MONTH_DAYS) == pytest.approx(365.2425)


def test_it_says_what_it_stands_on():
    climate = monthly_climate(**make_days())

    assert (climate.years_used, climate.days_used, climate.days_skipped) == (6, 2192, 0)
    assert (climate.first_date, climate.last_date) == (dt.date(2015, 1, 1), dt.date(2020, 12, 31))
    assert not climate.few_years


@pytest.mark.parametrize(
    ("last", "years", "few"),
    [("2018-12-31", 4, True), ("2019-12-31", 5, False), ("2019-11-30", 4, True)],
)
def test_fewer_than_five_years_are_kept_but_said(last, years, few):
    climate = monthly_climate(**make_days(last=last))

    assert (climate.years_used, climate.few_years) == (years, few)


def test_five_years_may_start_in_july():
    assert monthly_climate(**make_days("2015-07-01", "2020-06-30")).years_used == 5


def test_a_gap_neither_dries_nor_wets_a_month():
    days = make_days()
    whole = monthly_climate(**days)
    days["rain_mm"][::3] = np.nan

    assert monthly_climate(**days).rain_mm == pytest.approx(whole.rain_mm)


def test_days_with_missing_or_crossed_temperatures_are_left_out_and_counted():
    days = make_days()
    days["tmin_c"][3] = np.nan
    days["tmin_c"][4] = days["tmax_c"][4] + 1

    climate = monthly_climate(**days)

    assert climate.days_skipped == 2
    assert climate.tmin_c[0] == pytest.approx(5.0)


def test_the_order_of_the_days_does_not_matter():
    days = make_days()
    backwards = {k: v[::-1] if isinstance(v, np.ndarray) else v for k, v in days.items()}

    ahead, back = monthly_climate(**days), monthly_climate(**backwards)

    assert ahead.et0_mm_day == pytest.approx(back.et0_mm_day)
    assert ahead.first_date == back.first_date


def test_days_before_1970_fall_into_their_months():
    climate = monthly_climate(**make_days("1961-01-01", "1966-12-31"))

    assert climate.tmin_c == pytest.approx([5.0 + m for m in range(12)])
    assert climate.years_used == 6


@pytest.mark.parametrize("column", ["tmin_c", "rain_mm"])
def test_a_month_without_a_day_is_refused(column):
    days = make_days()
    february = days["dates"].astype("datetime64[M]").astype(int) % 12 == 1
    days[column] = np.where(february, np.nan, days[column])

    with pytest.raises(InvalidInputError, match="month 2") as refusal:
        monthly_climate(**days)

    assert refusal.value.code == "no-weather"
    assert "station" in refusal.value.remedy


def test_a_station_without_weather_is_refused():
    days = make_days()
    days["tmax_c"] = np.full_like(days["tmin_c"], np.nan)

    with pytest.raises(InvalidInputError) as refusal:
        monthly_climate(**days)

    assert refusal.value.code == "no-weather"


def test_an_empty_record_is_refused():
    with pytest.raises(InvalidInputError) as refusal:
        monthly_climate([], tmin_c=[], tmax_c=[], rain_mm=[], latitude_deg=35.0)

    assert refusal.value.code == "no-weather"


def test_a_day_given_twice_is_refused():
    days = make_days()
    days["dates"][1] = days["dates"][0]

    with pytest.raises(InvalidInputError) as refusal:
        monthly_climate(**days)

    assert refusal.value.field == "dates"


def test_columns_of_different_length_are_refused():
    days = make_days()
    days["rain_mm"] = days["rain_mm"][:-1]

    with pytest.raises(InvalidInputError) as refusal:
        monthly_climate(**days)

    assert refusal.value.field == "rain_mm"


def test_kept_et0_comes_before_that_of_the_temperatures():
    days = make_days()
    plain = monthly_climate(**days)
    is_july = days["dates"].astype("datetime64[M]").astype(int) % 12 == 6
    kept = np.where(is_july, 9.0, np.nan)

    climate = monthly_climate(**days, et0_mm=kept)

    assert climate.et0_mm_day[6] == pytest.approx(9.0)
    assert climate.et0_mm_day[:6] == plain.et0_mm_day[:6]


@pytest.mark.parametrize(("et0_mm", "code"), [([4.0], "length"), (-1.0, "out-of-range")])
def test_kept_et0_that_cannot_be_is_refused(et0_mm, code):
    days = make_days()
    values = et0_mm if code == "length" else np.full(len(days["dates"]), et0_mm)

    with pytest.raises(InvalidInputError) as refusal:
        monthly_climate(**days, et0_mm=values)

    assert (refusal.value.field, refusal.value.code) == ("et0_mm", code)
