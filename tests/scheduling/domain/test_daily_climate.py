"""The usual year by day: against a plain loop, against the months, and on the demo's real years."""

from __future__ import annotations

import datetime as dt
import gzip
import math
import time
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.climate import MONTH_DAYS, monthly_climate
from scheduling.domain.daily_climate import daily_climate, percentile_of_rows, slot_of_day
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.domain.station_files import read_station_file

NAN = math.nan
WEATHER = Path(__file__).parents[3] / "fixtures" / "weather" / "ZZDEMO00001.csv.gz"


def days_between(first, last):
    return np.arange(first, np.datetime64(last) + 1, dtype="datetime64[D]")


def make_days(first="2015-01-01", last="2020-12-31", *, missing=0.1):
    """Days with a season, noise, wet days, and holes."""
    dates = days_between(first, last)
    random = np.random.default_rng(5)
    season = 1 - np.cos(2 * np.pi * (dates.astype(int) % 365.25) / 365.25)
    et0 = 0.5 + 2.5 * season + random.random(dates.size)
    rain = np.where(random.random(dates.size) < 0.25, 40 * random.random(dates.size) ** 2, 0.0)
    holes = [random.random(dates.size) < missing for _ in range(2)]
    return {
        "dates": dates,
        "et0_mm": np.where(holes[0], NAN, et0),
        "rain_mm": np.where(holes[1], NAN, rain),
    }


def leap_date(month, day):
    return dt.date(2020, month, day).timetuple().tm_yday - 1


def et0_or_usual(et0, date):
    """The ET0 of a date, or the mean of the two weeks around it in all years."""
    if not math.isnan(et0[date]):
        return et0[date]
    season = [date + dt.timedelta(days=round(365.25 * k) + n)
              for k in range(-7, 8) for n in range(-7, 8)]  # fmt: skip
    return np.nanmean([et0.get(each, NAN) for each in season])


def by_loop(days, month, day):
    """The second route: dictionaries of dates, one day of the year at a time."""
    et0 = dict(zip(days["dates"].tolist(), days["et0_mm"].tolist(), strict=True))
    rain = dict(zip(days["dates"].tolist(), days["rain_mm"].tolist(), strict=True))
    sample, yearly = [], []
    for year in range(2014, 2022):
        centre = dt.date(year, month, day)
        around = [centre + dt.timedelta(days=n) for n in range(-7, 8)]
        sample += [et0[d] for d in around if not math.isnan(et0.get(d, NAN))]
        month_around = [centre + dt.timedelta(days=n) for n in range(-15, 16)]
        known = [d for d in month_around if not math.isnan(rain.get(d, NAN))]
        if len(known) >= 15.5:
            # FAO-56, eq. 85: rain above a fifth of the day's ET0 counts; nine tenths of it.
            counted = [0.9 * rain[d] for d in known if rain[d] > 0.2 * et0_or_usual(et0, d)]
            yearly.append(sum(counted) / len(known))
    return sample, yearly


# Days whose windows hold no 29 February: there a window of dates is one of places.
@pytest.mark.parametrize(("month", "day"), [(1, 1), (1, 20), (5, 3), (7, 15), (11, 30), (12, 31)])
def test_each_day_is_that_of_a_plain_loop(month, day):
    days = make_days()
    sample, yearly = by_loop(days, month, day)

    climate = daily_climate(**days)

    place = leap_date(month, day)
    for usual, values in ((climate.et0, sample), (climate.effective_rain, yearly)):
        assert usual.mean[place] == pytest.approx(np.mean(values))
        assert usual.low[place] == pytest.approx(np.percentile(values, 20))
        assert usual.high[place] == pytest.approx(np.percentile(values, 80))


def test_percentiles_are_those_of_numpy():
    random = np.random.default_rng(1)
    sample = np.where(random.random((40, 25)) < 0.4, NAN, random.random((40, 25)))
    sample[3], sample[4, 1:] = NAN, NAN

    for percent in (0.0, 20.0, 50.0, 80.0, 100.0):
        ours = percentile_of_rows(sample, percent)
        known = np.arange(40) != 3
        assert ours[known] == pytest.approx(np.nanpercentile(sample[known], percent, axis=1))
        assert np.isnan(ours[3])


def test_places_in_the_year_do_not_shift_after_february():
    dates = np.array(
        ["2023-02-28", "2023-03-01", "2023-12-31", "2024-02-28", "2024-02-29", "2024-03-01",
         "2024-12-31", "1900-03-01", "2000-02-29"], dtype="datetime64[D]"
    )  # fmt: skip

    assert slot_of_day(dates).tolist() == [58, 60, 365, 58, 59, 60, 365, 60, 59]


def test_the_leap_day_is_between_its_neighbours_even_without_a_leap_year():
    climate = daily_climate(**make_days("2021-01-01", "2023-12-31", missing=0.0))

    assert np.isfinite(climate.et0.mean).all()
    assert climate.et0.mean[59] == pytest.approx(climate.et0.mean[[58, 60]].mean(), rel=0.05)


def test_a_missing_value_costs_only_its_own_share():
    days = make_days(missing=0.0)
    whole = daily_climate(**days)
    days["rain_mm"] = np.where(days["dates"].astype(int) % 3 == 0, NAN, days["rain_mm"])

    thinned = daily_climate(**days)

    assert (thinned.et0.mean == whole.et0.mean).all()
    assert thinned.effective_rain.annual_mm == pytest.approx(
        whole.effective_rain.annual_mm, rel=0.12
    )


# Arithmetic: 0.9 of each 5 mm; by the event rule of rain skips it would be 2.46 of each.
def test_rain_counts_as_in_the_daily_water_account():
    days = make_days(missing=0.0)
    days["rain_mm"] = np.full(days["dates"].size, 5.0)

    climate = daily_climate(**days)

    assert climate.effective_rain.mean[:10].sum() == pytest.approx(45.0)


# Arithmetic: 0.2 x 4.0 = 0.8 mm dry off in the usual way.
@pytest.mark.parametrize(("rain_mm", "counted_mm"), [(0.8, 0.0), (0.9, 0.81)])
def test_the_usual_et0_stands_in_for_a_missing_one(rain_mm, counted_mm):
    days = make_days(missing=0.0)
    some = days["dates"].astype(int) % 2 == 0
    days["et0_mm"] = np.where(some, 4.0, NAN)
    days["rain_mm"] = np.full(some.size, rain_mm)

    climate = daily_climate(**days)

    assert climate.effective_rain.mean == pytest.approx(np.full(366, counted_mm))


def test_without_any_et0_what_rain_adds_is_unknown():
    days = make_days()
    days["et0_mm"] = np.full(days["dates"].size, NAN)

    assert np.isnan(daily_climate(**days).effective_rain.mean).all()


def test_days_that_no_year_knows_are_nan_and_count_no_year():
    days = make_days(missing=0.0)
    summer = np.isin(days["dates"].astype("datetime64[M]").astype(int) % 12, (5, 6, 7))
    days["et0_mm"] = np.where(summer, days["et0_mm"], NAN)

    climate = daily_climate(**days)

    assert np.isnan(climate.et0.mean[leap_date(1, 15)])
    assert np.isnan(climate.et0.annual_mm)
    assert np.isfinite(climate.et0.high[leap_date(7, 15)])
    assert (climate.years_used, climate.few_years) == (0, True)


@pytest.mark.parametrize(("last", "years", "few"), [("2018-12-31", 4, True),
                                                    ("2019-12-31", 5, False)])  # fmt: skip
def test_fewer_than_five_years_are_told(last, years, few):
    climate = daily_climate(**make_days(last=last))

    assert (climate.years_used, climate.few_years) == (years, few)


def test_the_order_of_the_days_does_not_matter():
    days = make_days()
    backwards = {name: values[::-1] for name, values in days.items()}

    one, other = daily_climate(**days), daily_climate(**backwards)

    assert (one.et0.high == other.et0.high).all()
    assert (one.effective_rain.low == other.effective_rain.low).all()
    assert one.first_date == other.first_date == dt.date(2015, 1, 1)


@pytest.mark.parametrize(
    ("changes", "field", "code"),
    [
        ({"et0_mm": [1.0]}, "et0_mm", "length"),
        ({"rain_mm": [1.0]}, "rain_mm", "length"),
        ({"et0_mm": [1.0, -0.1]}, "et0_mm", "out-of-range"),
        ({"rain_mm": [1.0, 2001.0]}, "rain_mm", "out-of-range"),
        ({"dates": np.array(["2020-01-01"] * 2, "datetime64[D]")}, "dates", "dates"),
        ({"dates": np.array(["2020-01-01", "NaT"], "datetime64[D]")}, "dates", "dates"),
        ({"dates": np.array(["0001-01-01", "2020-01-01"], "datetime64[D]")}, "dates", "dates"),
        ({"et0_mm": [NAN, NAN], "rain_mm": [NAN, NAN]}, "dates", "no-weather"),
        ({"dates": np.array([], "datetime64[D]"), "et0_mm": [], "rain_mm": []}, "dates",
         "no-weather"),
    ],
)  # fmt: skip
def test_days_that_cannot_be_are_refused(changes, field, code):
    days = {
        "dates": np.array(["2020-01-01", "2020-01-02"], "datetime64[D]"),
        "et0_mm": [1.0, 2.0],
        "rain_mm": [0.0, 0.0],
    }

    with pytest.raises(InvalidInputError) as refusal:
        daily_climate(**{**days, **changes})

    assert (refusal.value.field, refusal.value.code) == (field, code)
    assert refusal.value.remedy


@pytest.fixture(scope="module")
def demo():
    """Twenty real years of the plains, 40.4 degrees north."""
    values = defaultdict(list)
    with gzip.open(WEATHER, "rt", encoding="ascii") as lines:
        for day in read_station_file(lines).days():
            values["dates"].append(day.date)
            values["tmin_c"].append(day.tmin_c)
            values["tmax_c"].append(day.tmax_c)
            values["rain_mm"].append(day.rain_mm)
    columns = {
        name: np.array(each, dtype=float) for name, each in values.items() if name != "dates"
    }
    dates = np.array(values["dates"], dtype="datetime64[D]")
    day_of_year = (dates - dates.astype("datetime64[Y]")).astype(int) + 1
    et0 = hargreaves(
        columns["tmin_c"], columns["tmax_c"], extraterrestrial_radiation(40.4, day_of_year)
    )
    return {"dates": dates, "et0_mm": et0, **columns}


def test_on_real_years_the_days_sum_up_to_the_months(demo):
    months = monthly_climate(**demo, latitude_deg=40.4)

    days = daily_climate(demo["dates"], et0_mm=demo["et0_mm"], rain_mm=demo["rain_mm"])

    year = sum(mm * length for mm, length in zip(months.et0_mm_day, MONTH_DAYS, strict=True))
    assert days.et0.annual_mm == pytest.approx(year, rel=0.01)
    assert days.effective_rain.annual_mm == pytest.approx(sum(months.effective_rain_mm), rel=0.01)
    assert days.years_used == months.years_used == 20


def test_on_real_years_low_and_high_lie_about_the_mean_as_weather_does(demo):
    days = daily_climate(demo["dates"], et0_mm=demo["et0_mm"], rain_mm=demo["rain_mm"])

    for usual in (days.et0, days.effective_rain):
        assert (usual.low <= usual.mean).all()
        assert (usual.mean <= usual.high).all()
    july = leap_date(7, 15)
    in_july = np.isin(slot_of_day(demo["dates"]), np.arange(july - 7, july + 8))
    assert (demo["et0_mm"][in_july] > days.et0.high[july]).mean() == pytest.approx(0.2, abs=0.01)
    assert days.effective_rain.high[july] > 2 * days.effective_rain.low[july] > 0


def test_thirty_years_take_milliseconds():
    days = make_days("1991-01-01", "2020-12-31")
    daily_climate(**days)

    started = time.perf_counter()
    daily_climate(**days)

    assert time.perf_counter() - started < 0.25  # 7 ms by itself; a busy machine may be slow
