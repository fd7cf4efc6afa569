"""Which station's weather a property has, and what its usual year is."""

from __future__ import annotations

import datetime as dt
import math

import pytest

from properties.domain.errors import RefusedError
from scheduling.domain.climate import MONTH_DAYS
from scheduling.domain.distance import great_circle_km
from scheduling.models import WeatherDay
from scheduling.selectors.weather import (
    climate_of,
    daily_climate_of,
    station_of,
    stations_near,
    usual_year_of,
)
from tests import cast

DAY = dt.date(2025, 6, 1)


def station_at(latitude, longitude, code, *, has_weather=True):
    station = cast.make_station(latitude=latitude, longitude=longitude, code=code)
    if has_weather:
        WeatherDay.objects.create(station=station, date=DAY, rain_mm=1.0)
    return station


def test_the_nearest_station_with_weather_is_taken(garden):
    station_at(40.9, -101.7, "ZZTEST00002")
    near = station_at(40.5, -101.7, "ZZTEST00003")
    station_at(40.42, -101.7, "ZZTEST00004", has_weather=False)
    station_at(40.42, -102.5, "ZZTEST00005")

    assert station_of(garden) == near


# 100 km are 0.8993 degrees of a meridian of 111.195 km a degree.
@pytest.mark.parametrize(("north", "is_near"), [(0.899, True), (0.900, False)])
def test_beyond_a_hundred_kilometres_it_is_other_weather(garden, north, is_near):
    station = station_at(garden.latitude + north, garden.longitude, "ZZTEST00002")

    if is_near:
        assert station_of(garden) == station
        return
    with pytest.raises(RefusedError, match="within 100 km") as refusal:
        station_of(garden)
    assert refusal.value.code == "no-station"


def test_without_any_weather_there_is_no_station(garden):
    station_at(40.42, -101.7, "ZZTEST00004", has_weather=False)

    with pytest.raises(RefusedError) as refusal:
        station_of(garden)

    assert (refusal.value.code, refusal.value.field) == ("no-station", "latitude")


def test_a_property_without_position_has_no_weather(company, station):
    place = cast.make_property(latitude=None, longitude=None)

    with pytest.raises(RefusedError) as refusal:
        station_of(place)

    assert (refusal.value.code, refusal.value.field) == ("no-position", "latitude")


def test_equal_distances_are_settled_by_the_code(garden):
    station_at(40.42, -101.7, "ZZTEST00003")
    first = station_at(40.42, -101.7, "ZZTEST00002")

    assert station_of(garden) == first


def test_the_choice_takes_one_query(garden, station, django_assert_num_queries):
    with django_assert_num_queries(1):
        station_of(garden)


# The cast's climate: 2 + 14 w to 12 + 20 w degC with w = 1 in July, 1/2 in April and October; 20 mm
# of rain every tenth day, of which 0.9 counts in the daily account: 18.
def test_the_usual_year_is_that_of_the_stored_days(station):
    climate = climate_of(station)

    assert climate.tmin_c[6] == pytest.approx(16.0)
    assert climate.tmax_c[3] == pytest.approx(22.0)
    assert sum(climate.rain_mm) == pytest.approx(365.2425 * 2, rel=0.01)
    assert climate.effective_rain_mm[6] / climate.rain_mm[6] == pytest.approx(18 / 20)
    assert (climate.years_used, climate.days_skipped) == (6, 0)
    assert climate.first_date == dt.date(2015, 1, 1)
    assert climate.last_date == dt.date(2020, 12, 31)
    july = WeatherDay.objects.filter(station=station, date__month=7).values_list(
        "et0_mm", flat=True
    )
    assert climate.et0_mm_day[6] == pytest.approx(sum(july) / len(july), abs=1e-3)


def test_a_day_without_temperatures_counts_as_skipped(station):
    WeatherDay.objects.filter(date__lt=dt.date(2015, 1, 8)).update(tmin_c=None)

    climate = climate_of(station)

    assert climate.days_skipped == 7
    assert climate.years_used == 6


def test_the_climate_is_that_of_one_station_only(station):
    before = climate_of(station)
    other = cast.make_station(code="ZZTEST00002")
    cast.make_weather(other, years=1, first_year=2021)

    assert climate_of(station) == before
    assert climate_of(other).few_years


@pytest.mark.parametrize("months", [(), (6, 7)])
def test_a_station_without_weather_for_a_month_is_refused_as_a_state(company, months):
    station = cast.make_station()
    for month in months:
        day = dt.date(2025, month, 1)
        WeatherDay.objects.create(station=station, date=day, tmin_c=1, tmax_c=9, rain_mm=0)

    with pytest.raises(RefusedError) as refusal:
        climate_of(station)

    assert (refusal.value.code, refusal.value.field) == ("no-weather", "station")
    assert "mport" in refusal.value.remedy


def test_the_distance_limit_is_measured_on_the_globe():
    assert great_circle_km((40.42, -101.7), (41.319, -101.7)) == pytest.approx(99.96, abs=0.02)


def whole_days(station, count, *, last=DAY):
    WeatherDay.objects.bulk_create(
        WeatherDay(station=station, date=last - dt.timedelta(days=age), tmin_c=9, tmax_c=22,
                   rain_mm=0, et0_mm=4)
        for age in range(count)
    )  # fmt: skip


def test_a_station_with_enough_days_comes_before_a_nearer_one_with_few(garden):
    near, far = (
        station_at(latitude, -101.7, code, has_weather=False)
        for latitude, code in ((40.5, "ZZTEST00002"), (41.0, "ZZTEST00003"))
    )
    whole_days(near, 1460)
    whole_days(far, 1461)

    assert station_of(garden) == far
    WeatherDay.objects.create(station=near, date=DAY - dt.timedelta(days=5000), et0_mm=4)
    assert station_of(garden) == near


def test_a_station_that_ceased_comes_after_one_that_reports(garden):
    near, far = (
        station_at(latitude, -101.7, code, has_weather=False)
        for latitude, code in ((40.5, "ZZTEST00002"), (41.0, "ZZTEST00003"))
    )
    whole_days(near, 10, last=DAY - dt.timedelta(days=31))
    whole_days(far, 10)

    choice = stations_near(garden)

    assert [each.station for each in choice] == [far, near]
    assert [each.rank.is_recent for each in choice] == [True, False]
    assert [each.last_date for each in choice] == [DAY, DAY - dt.timedelta(days=31)]


def test_height_counts_where_the_property_knows_its_own(garden):
    hill = station_at(40.5, -101.7, "ZZTEST00002")
    valley = station_at(40.6, -101.7, "ZZTEST00003")
    type(hill).objects.filter(pk=hill.pk).update(elevation_m=1500)

    assert station_of(garden) == hill
    garden.elevation_m = 1072.0
    assert station_of(garden) == valley


@pytest.mark.parametrize(
    ("here", "there"),
    [((10.0, 179.9), (10.1, -179.9)), ((89.6, 10.0), (89.7, -170.0)), ((-89.9, 0.0), (-89.9, 180))],
)
def test_a_station_beyond_the_date_line_or_the_pole_is_near(garden, here, there):
    garden.latitude, garden.longitude = here
    station = station_at(*there, "ZZTEST00002")

    assert station_of(garden) == station


@pytest.mark.parametrize("latitude", [0.0, 40.0, 60.0, 80.0, 88.0])
def test_the_box_of_the_query_holds_all_within_reach(garden, latitude):
    garden.latitude, garden.longitude = latitude, 20.0
    east = math.degrees(
        2 * math.asin(math.sin(99.9 / 6371.0088 / 2) / math.cos(math.radians(latitude)))
    )
    station = station_at(latitude, 20.0 + east, "ZZTEST00002")

    assert station_of(garden) == station


def test_the_usual_year_by_day_and_by_month_come_of_the_same_days(station):
    months, days = usual_year_of(station)

    assert (months, days.first_date, days.years_used) == (
        climate_of(station),
        dt.date(2015, 1, 1),
        6,
    )
    assert days.et0.annual_mm == pytest.approx(
        sum(mm * length for mm, length in zip(months.et0_mm_day, MONTH_DAYS, strict=True)), rel=0.01
    )
    assert (daily_climate_of(station).et0.mean == days.et0.mean).all()


def test_the_months_stand_on_the_et0_that_is_kept(station):
    WeatherDay.objects.filter(date__month=5).update(et0_mm=9.0)

    assert climate_of(station).et0_mm_day[4] == pytest.approx(9.0)
