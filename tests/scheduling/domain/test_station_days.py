import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.domain.station_days import CONTRADICTIONS, DayFold, contradictions_in
from scheduling.domain.station_tables import StationList, table_of
from scheduling.domain.station_values import Code, DayReading, ElementValue, ReadingReport

FIRST = dt.date(2021, 6, 1)
STATION = "ZZTEST00001"


def value(line, element, amount, *, day=0, year=2021, station=STATION):
    date = FIRST.replace(year=year) + dt.timedelta(days=day)
    return ElementValue(line, station, date, element, amount)


def fold(values, *, at_once=10_000, **options):
    """Fold values, handing over so many of them at once; return the days and the report."""
    report, stations = ReadingReport(values_accepted=len(values)), StationList(None)
    folding = DayFold(report, stations.codes, **options)
    batches = []
    for start in range(0, len(values), at_once):
        batches += folding.add(table_of(values[start : start + at_once], stations))
    batches += folding.close()
    return [reading for batch in batches for reading in batch.readings()], report


def test_a_file_grouped_by_element_gives_the_same_days_as_one_grouped_by_day():
    by_day = [
        value(day + 1, element, amount + day, day=day)
        for day in range(50)
        for element, amount in (("TMAX", 30.0), ("TMIN", 10.0), ("PRCP", 0.0), ("AWND", 2.0))
    ]
    by_element = sorted(by_day, key=lambda one: one.element)

    days, _ = fold(by_day, at_once=7)

    assert fold(by_element)[0] == days
    assert [day.date for day in days] == [FIRST + dt.timedelta(days=n) for n in range(50)]
    assert days[3][2:6] == (13.0, 33.0, 3.0, 5.0)


def test_every_element_finds_its_place():
    codes = ("TMIN", "TMAX", "PRCP", "AWND", "ADPT", "RHAV", "RHMN", "RHMX")
    assert set(codes) == set(Code.__args__)

    (day,), _ = fold([value(1, code, float(n)) for n, code in enumerate(codes)])

    assert day == DayReading(
        STATION, FIRST, tmin_c=0, tmax_c=1, rain_mm=2, wind_m_s=3, dew_point_c=None,
        humidity_percent=5, humidity_min_percent=6, humidity_max_percent=7,
    )  # fmt: skip


def test_stations_and_years_are_kept_apart():
    days, report = fold([
        value(1, "TMAX", 30.0), value(2, "TMAX", 31.0, station="ZZTEST00002"),
        value(3, "TMAX", 32.0, year=2020),
    ])  # fmt: skip

    assert {(day.station_code, day.date.year, day.tmax_c) for day in days} == {
        ("ZZTEST00001", 2021, 30.0), ("ZZTEST00002", 2021, 31.0), ("ZZTEST00001", 2020, 32.0),
    }  # fmt: skip
    assert report.problem_count == 0


def test_the_last_day_of_a_leap_year_has_its_place():
    dates = [dt.date(2020, 12, 31), dt.date(2021, 1, 1), dt.date(2020, 2, 29)]

    days, _ = fold([ElementValue(1, STATION, date, "PRCP", 1.0) for date in dates])

    assert [day.date for day in days] == sorted(dates)


@pytest.mark.parametrize("at_once", [1, 9])
def test_the_same_value_again_is_counted(at_once):
    days, report = fold([value(1, "PRCP", 5.0), value(2, "PRCP", 5.0)], at_once=at_once)

    assert [day.rain_mm for day in days] == [5.0]
    assert (report.values_repeated, report.values_accepted, report.problem_count) == (1, 1, 0)


@pytest.mark.parametrize("at_once", [1, 2, 9])
def test_another_value_for_the_same_day_is_reported_and_the_first_kept(at_once):
    values = [value(1, "PRCP", 5.0), value(2, "PRCP", 6.0), value(3, "PRCP", 5.0)]

    days, report = fold(values, at_once=at_once)

    assert [day.rain_mm for day in days] == [5.0]
    assert [(p.line_number, p.field) for p in report.problems] == [(2, "PRCP")]
    assert "is 6 here but is 5 in an earlier line" in report.problems[0].detail
    assert (report.values_accepted, report.values_repeated) == (1, 1)


def test_a_maximum_below_the_minimum_costs_the_temperatures_and_not_the_rain():
    values = [value(1, "PRCP", 5.0), value(2, "TMIN", 20.0), value(3, "TMAX", 10.0)]

    days, report = fold(values)

    assert [day[2:5] for day in days] == [(None, None, 5.0)]
    assert [(p.line_number, p.field) for p in report.problems] == [(3, "TMAX")]
    assert report.values_accepted == 1


def test_a_highest_humidity_below_the_lowest_costs_both():
    days, report = fold([value(1, "RHMN", 60.0), value(2, "RHMX", 50.0), value(3, "RHAV", 55.0)])

    assert days[0][2:] == (None, None, None, None, None, 55.0, None, None)
    assert (report.problems[0].field, report.values_accepted) == ("RHMX", 1)


def test_a_dew_point_above_the_highest_temperature_is_not_kept_and_the_temperature_is():
    days, report = fold([value(1, "ADPT", 31.0), value(2, "TMAX", 30.0)])

    assert (days[0].tmax_c, days[0].dew_point_c) == (30.0, None)
    assert (report.problem_count, report.values_accepted) == (1, 1)


def test_equal_values_are_no_contradiction():
    values = [value(1, code, 0.0) for code in ("TMIN", "TMAX", "ADPT", "RHMN", "RHMX")]

    assert fold(values)[1].problem_count == 0


def test_a_day_that_loses_everything_is_no_day():
    days, report = fold([value(1, "TMIN", 20.0), value(2, "TMAX", 10.0)])

    assert (days, report.spans) == ([], [])


def test_no_more_years_are_held_than_allowed():
    report, stations = ReadingReport(), StationList(None)
    folding = DayFold(report, stations.codes, open_years=4)
    came_out = []

    for year in range(1900, 2000):
        batches = list(folding.add(table_of([value(1, "TMAX", 20.0, year=year)], stations)))
        came_out.append(sum(batch.dates.size for batch in batches))

    assert sum(came_out[:4]) == 0
    assert 100 - sum(came_out) <= 4
    assert sum(batch.dates.size for batch in folding.close()) == 100 - sum(came_out)


def test_more_years_at_once_than_can_be_held_all_come_out():
    values = [value(n + 1, "PRCP", 1.0, year=1900 + n) for n in range(100)]

    assert len(fold(values, open_years=2)[0]) == 100


def test_a_day_scattered_too_widely_comes_in_parts():
    scattered = [value(1, "TMAX", 30.0, year=year) for year in range(2010, 2022)]
    scattered += [
        value(99, "TMIN", 10.0, year=2010), value(100, "TMIN", 10.0, day=1, year=2011),
    ]  # fmt: skip

    days, report = fold(scattered, at_once=1, open_years=4)

    of_2010 = sorted(str(day[2:4]) for day in days if day.date.year == 2010)
    assert of_2010 == ["(10.0, None)", "(None, 30.0)"]
    assert report.spans[0].days == 13


def test_gaps_are_told_for_each_station():
    values = [value(1, "PRCP", 0.0, day=day) for day in (0, 1, 5, 7, 220)]
    values.append(value(1, "TMAX", 1.0, day=3, station="ZZTEST00002"))

    one, other = fold(values)[1].spans

    # Arithmetic: from day 0 to day 220 are 221 days; the longest gap is from day 8 to day 219.
    assert (one.first_date, one.last_date) == (FIRST, FIRST + dt.timedelta(days=220))
    assert (one.days, one.days_missing, one.longest_gap_days) == (5, 216, 212)
    assert (other.days, other.days_missing, other.longest_gap_days) == (1, 0, 0)


def test_what_is_missing_contradicts_nothing():
    amounts = np.full((3, 8), np.nan)
    amounts[0, 0] = 5.0  # TMIN
    amounts[1, :2] = 5.0, 4.0
    amounts[2, :2] = 4.0, 5.0

    ((rule, rows),) = contradictions_in(amounts)

    assert (rule, rows.tolist()) == (CONTRADICTIONS[0], [1])


parts = st.lists(
    st.tuples(
        st.sampled_from(["TMAX", "TMIN", "PRCP", "ADPT"]), st.integers(0, 3), st.integers(0, 2)
    ),
    max_size=40,
)


@settings(max_examples=60)
@given(parts, st.integers(1, 12))
def test_every_value_is_kept_repeated_or_reported(parts, at_once):
    values = [
        value(line, element, float(amount), day=day)
        for line, (element, day, amount) in enumerate(parts, start=1)
    ]

    days, report = fold(values, at_once=at_once)

    kept = sum(amount is not None for day in days for amount in day[2:])
    assert kept == report.values_accepted
    assert all(None in (d.tmax_c, d.tmin_c) or d.tmax_c >= d.tmin_c for d in days)
    # Crossed temperatures are one problem and cost two values; all other problems cost one.
    crossed = sum("is below the lowest" in p.detail for p in report.problems)
    assert len(values) == kept + report.values_repeated + report.problem_count + crossed
