"""The weather of a property: its station's days, filled from the neighbours, gaps told."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from properties.domain.errors import InvalidInputError, RefusedError
from scheduling.domain.gap_filling import Mark
from scheduling.selectors.property_weather import (
    WeatherGaps,
    gaps_of_last_year,
    weather_of_property,
)
from scheduling.selectors.seasons import property_season
from scheduling.selectors.weather import stations_near
from tests import cast
from tests.scheduling.weather_rows import YESTERDAY, clear, make_days, make_near_station

FIRST = YESTERDAY - dt.timedelta(days=29)
HOLE = YESTERDAY - dt.timedelta(days=10)
PLACE = (HOLE - FIRST).days


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN")
    make_days(station)
    return station


@pytest.fixture
def neighbour(garden):
    station = make_near_station("ZZNEAR", north_km=20)
    make_days(station, warmer=3.0)
    return station


def test_without_a_hole_the_days_are_those_of_the_station(garden, main, neighbour):
    weather = weather_of_property(garden, FIRST, YESTERDAY)

    assert weather.main.station == main
    assert weather.helpers == ()
    assert [str(weather.dates[0]), str(weather.dates[-1])] == [str(FIRST), str(YESTERDAY)]
    stored = main.days.filter(date__gte=FIRST).order_by("date").values_list("tmin_c", flat=True)
    assert weather.series["tmin_c"].values.tolist() == list(stored)
    assert weather.gaps == WeatherGaps("ZZMAIN", FIRST, YESTERDAY, 0, 0)


# The neighbour is 3 degC warmer and has 0.3 mm more ET0; its rain is the same.
def test_a_missing_day_is_filled_with_the_difference_taken_out(garden, main, neighbour):
    lost = main.days.get(date=HOLE)
    clear(main, HOLE)

    weather = weather_of_property(garden, FIRST, YESTERDAY)

    for name in ("tmin_c", "tmax_c", "rain_mm", "et0_mm"):
        series = weather.series[name]
        assert series.values[PLACE] == pytest.approx(getattr(lost, name), abs=1e-9), name
        assert series.marks[PLACE] == Mark.FILLED
        assert series.filled_days == 1
    assert [near.station for near in weather.helpers] == [neighbour]
    assert weather.gaps == WeatherGaps("ZZMAIN", FIRST, YESTERDAY, 1, 0)


def test_a_missing_value_leaves_the_others_of_its_day_as_observed(garden, main, neighbour):
    clear(main, HOLE, rain_mm=None)

    weather = weather_of_property(garden, FIRST, YESTERDAY)

    marks = {name: int(series.marks[PLACE]) for name, series in weather.series.items()}
    assert marks == {"tmin_c": 0, "tmax_c": 0, "rain_mm": Mark.FILLED, "et0_mm": 0}


def test_a_day_that_nobody_has_is_a_gap(garden, main, neighbour):
    clear(main, HOLE)
    clear(neighbour, HOLE)

    weather = weather_of_property(garden, FIRST, YESTERDAY)

    assert np.isnan(weather.series["et0_mm"].values[PLACE])
    assert weather.series["rain_mm"].marks[PLACE] == Mark.GAP
    assert weather.gaps == WeatherGaps("ZZMAIN", FIRST, YESTERDAY, 0, 1)


def test_a_day_with_one_value_filled_and_one_missing_counts_as_missing(garden, main, neighbour):
    clear(main, HOLE)
    clear(neighbour, HOLE, rain_mm=None)

    weather = weather_of_property(garden, FIRST, YESTERDAY)

    assert weather.series["et0_mm"].marks[PLACE] == Mark.FILLED
    assert weather.gaps == WeatherGaps("ZZMAIN", FIRST, YESTERDAY, 0, 1)


def test_a_station_alone_has_its_gaps(garden, main):
    clear(main, HOLE)

    assert weather_of_property(garden, FIRST, YESTERDAY).gaps.days_missing == 1


def test_days_before_the_record_are_gaps_and_days_after_too(garden, main):
    weather = weather_of_property(
        garden, YESTERDAY - dt.timedelta(days=409), cast.TODAY + dt.timedelta(days=2)
    )

    assert weather.gaps.days_missing == 10 + 3


def test_the_nearest_to_the_station_help_not_those_nearest_to_the_garden(garden):
    main = make_near_station("ZZMAIN", north_km=40)
    make_days(main, count=1500)
    near_garden = {"ZZA": -10.0, "ZZE": -5.0, "ZZF": -15.0}
    near_main = {"ZZB": 45.0, "ZZC": 50.0, "ZZD": 60.0}
    for code, north_km in (near_garden | near_main).items():
        make_days(make_near_station(code, north_km=north_km), count=200)
    clear(main, HOLE)

    weather = weather_of_property(garden, FIRST, YESTERDAY)

    assert weather.main.station == main  # the only one with enough days
    assert [near.station.code for near in weather.helpers] == ["ZZB", "ZZC", "ZZD"]
    helped = weather.series["rain_mm"].sources[:, PLACE]  # rain is that of the nearest alone
    assert helped.tolist() == [True, False, False, False, False]


def test_the_queries_do_not_grow_with_the_stations(
    garden, main, neighbour, django_assert_num_queries
):
    with django_assert_num_queries(2):  # the choice and the days
        weather_of_property(garden, FIRST, YESTERDAY)
    clear(main, HOLE)
    with django_assert_num_queries(3):  # and those of the neighbours
        weather_of_property(garden, FIRST, YESTERDAY)
    for number in range(10):
        make_days(make_near_station(f"ZZ{number}", north_km=30 + number), count=100)

    with django_assert_num_queries(3):
        weather_of_property(garden, FIRST, YESTERDAY)


def test_a_crooked_span_is_refused(garden, main):
    with pytest.raises(InvalidInputError) as refusal:
        weather_of_property(garden, YESTERDAY, FIRST)

    assert refusal.value.field == "last"


def test_without_a_station_it_is_refused(garden):
    with pytest.raises(RefusedError) as refusal:
        weather_of_property(garden, FIRST, YESTERDAY)

    assert refusal.value.code == "no-station"


def test_the_newest_year_of_the_station_is_counted(garden, main, neighbour):
    clear(main, HOLE)
    clear(main, YESTERDAY)
    clear(main, HOLE - dt.timedelta(days=3))
    clear(neighbour, HOLE - dt.timedelta(days=3))

    gaps = gaps_of_last_year(garden, stations_near(garden))

    newest = YESTERDAY - dt.timedelta(days=1)
    first = newest - dt.timedelta(days=364)
    assert gaps == WeatherGaps("ZZMAIN", first, newest, days_filled=1, days_missing=1)


def test_a_station_without_a_whole_day_has_no_newest_year(garden):
    station = make_near_station("ZZMAIN")
    make_days(station, count=3)
    station.days.update(et0_mm=None)

    assert gaps_of_last_year(garden, stations_near(garden)) is None


def test_a_season_tells_the_gaps_of_its_weather(garden, main, zone):
    clear(main, HOLE)

    assert property_season(garden).gaps.days_missing == 1
