from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.climate import MONTH_DAYS, monthly_climate
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves


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


def test_rain_is_a_monthly_total_and_counts_by_event():
    days = make_days()
    in_january = days["dates"].astype("datetime64[M]").astype(int) % 12 == 0
    days["rain_mm"] = np.where(in_january, 12.7, 2.0)

    climate = monthly_climate(**days)

    assert climate.rain_mm[0] == pytest.approx(31 * 12.7)
    assert climate.effective_rain_mm[0] == pytest.approx(31 * 10.16)  # 0.1 in of each is lost
    assert climate.effective_rain_mm[1] == 0.0  # a month of drizzle adds nothing


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
