"""Which station's weather a property has, and what its usual year is."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.domain.errors import RefusedError
from scheduling.domain.distance import great_circle_km
from scheduling.models import WeatherDay
from scheduling.selectors.weather import climate_of, station_of
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
# of rain every tenth day, of which 0.1 in is lost (Texas A&M AgriLife effective rainfall): 17.46.
def test_the_usual_year_is_that_of_the_stored_days(station):
    climate = climate_of(station)

    assert climate.tmin_c[6] == pytest.approx(16.0)
    assert climate.tmax_c[3] == pytest.approx(22.0)
    assert sum(climate.rain_mm) == pytest.approx(365.2425 * 2, rel=0.01)
    assert climate.effective_rain_mm[6] / climate.rain_mm[6] == pytest.approx(17.46 / 20)
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
