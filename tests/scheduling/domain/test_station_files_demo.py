import gzip
import json
from pathlib import Path

import pytest

from scheduling.domain.station_files import read_station_file

WEATHER = Path(__file__).parents[3] / "fixtures" / "weather"


@pytest.fixture(scope="module")
def station():
    return json.loads((WEATHER / "station.json").read_text())


@pytest.fixture(scope="module")
def reading(station):
    with gzip.open(WEATHER / station["file"], "rt", encoding="ascii") as lines:
        station_file = read_station_file(lines)
        return list(station_file.days()), station_file.report


def test_the_weather_of_the_demo_is_read_without_a_problem(reading):
    days, report = reading

    assert report.problem_count == 0
    assert (report.lines_read, report.values_accepted, len(days)) == (21_915, 21_915, 7_305)


def test_it_has_twenty_whole_years_of_one_station(reading, station):
    days, _ = reading

    assert {day.station_code for day in days} == {station["code"]}
    assert (str(days[0].date), str(days[-1].date)) == ("1999-01-01", "2018-12-31")
    assert (days[-1].date - days[0].date).days + 1 == len(days)
    assert all(None not in day[2:5] for day in days)


def test_its_summers_are_hot_and_its_rain_is_that_of_the_plains(reading):
    days, _ = reading
    july = [day.tmax_c for day in days if day.date.month == 7]

    assert 31 < sum(july) / len(july) < 34
    assert 300 < sum(day.rain_mm for day in days) / 20 < 500
    assert max(day.tmax_c for day in days) < 45
    assert min(day.tmin_c for day in days) > -40


def test_its_first_and_last_days_are_those_of_the_source(reading):
    days, _ = reading

    # The source writes -8.09, -0.82, 0.00 and -13.80, 0.19, 0.00 for the first and the last day.
    assert days[0][2:5] == (-8.1, -0.8, 0.0)
    assert days[-1][2:5] == (-13.8, 0.2, 0.0)
