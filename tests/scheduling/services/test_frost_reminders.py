"""Frost by old forecasts, and at gardens without a plan."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Property, Zone
from scheduling.models import ForecastDocument, Notice, WeatherStation
from scheduling.services.plans import store_plans
from tests import cast
from tests.scheduling.services.reminder_looks import days, live, look, noon
from tests.scheduling.weather_rows import make_forecast, make_near_station

pytestmark = pytest.mark.django_db
TODAY, DAY = cast.TODAY, dt.timedelta(days=1)
COLD = ({"tmin_c": 9.0}, {"tmin_c": 8.0}, {"tmin_c": 1.0}, {"tmin_c": 9.0})


@pytest.fixture
def garden(company):
    """A garden in use whose client agreed to notices, without any plan."""
    garden = cast.make_property(cast.make_customer(wants_notices=True))
    cast.make_zone(cast.make_controller(garden))
    return garden


@pytest.fixture
def planned(garden, station):
    cast.make_heads(Zone.objects.get())
    store_plans(garden, actor=None, now=cast.NOW)
    return garden


def make_issued(moment: dt.datetime) -> None:
    ForecastDocument.objects.update(issued_at=moment, retrieved_at=moment)


def frosts() -> list[Notice]:
    return list(Notice.objects.filter(kind="frost").order_by("created_at"))


@pytest.mark.parametrize(("age_hours", "told"), [(0, 1), (35.9, 1), (36.1, 0), (200, 0)])
def test_a_forecast_that_is_too_old_makes_no_frost(planned, station, age_hours, told):
    make_forecast(station, *COLD)
    make_issued(noon(TODAY) - dt.timedelta(hours=age_hours))

    look(noon(TODAY))

    assert len(frosts()) == told
    assert len(live("frost", "client")) == told


def test_the_limit_is_a_setting(planned, station, settings):
    settings.FORECAST_TELLS_HOURS = 100.0
    make_forecast(station, *COLD)
    make_issued(noon(TODAY) - dt.timedelta(hours=99))

    look(noon(TODAY))

    assert len(frosts()) == 1


def test_a_frost_that_was_told_stays_while_nothing_newer_is_known(planned, station):
    make_forecast(station, *({"tmin_c": 9.0} for _ in range(4)), {"tmin_c": 1.0})
    make_issued(noon(TODAY))
    look(noon(TODAY))
    assert len(frosts()) == 1

    look(noon(TODAY + days(3)))
    assert [row.due_date for row in live("frost", "client")] == [TODAY + days(4)]
    assert len(frosts()) == 1

    look(noon(TODAY + days(5)))
    assert live("frost") == []
    assert len(frosts()) == 1


def test_a_newer_forecast_without_it_takes_the_frost_back_for_good(planned, station):
    make_forecast(station, *({"tmin_c": 9.0} for _ in range(4)), {"tmin_c": 1.0})
    look(noon(TODAY))
    station.forecast_days.update(tmin_c=9.0)
    make_issued(noon(TODAY + DAY))
    look(noon(TODAY + DAY))
    assert live("frost") == []

    look(noon(TODAY + days(3)))  # old by then
    assert live("frost") == []


def test_a_garden_without_a_plan_hears_of_frost_by_the_nearest_forecast(garden):
    near, far = make_near_station("N", north_km=20), make_near_station("F", north_km=60)
    make_near_station("X", north_km=1)  # without a forecast
    make_forecast(near, *COLD)
    make_forecast(far, *({"tmin_c": 9.0} for _ in range(4)))

    look(noon(TODAY))

    (notice,) = frosts()
    assert (notice.customer, notice.property) == (garden.customer, garden)


def test_where_the_nearest_forecast_is_too_old_the_next_one_speaks(garden):
    near, far = make_near_station("N", north_km=20), make_near_station("F", north_km=60)
    make_forecast(near, *({"tmin_c": 9.0} for _ in range(4)))
    make_issued(cast.NOW - days(3))
    make_forecast(far, *COLD)

    look(noon(TODAY))

    assert len(frosts()) == 1


@pytest.mark.parametrize("lack", ["no zone in use", "no position", "no station near", "retired"])
def test_what_has_no_pipes_in_use_or_no_forecast_hears_nothing(garden, lack):
    make_forecast(make_near_station("N", north_km=150 if lack == "no station near" else 20), *COLD)
    if lack == "no zone in use":
        Zone.objects.update(is_active=False)
    if lack == "no position":
        Property.objects.update(latitude=None, longitude=None)
    if lack == "retired":
        WeatherStation.objects.update(retired_at=cast.NOW)

    look(noon(TODAY))

    assert frosts() == []


def test_where_the_station_of_the_plan_is_retired_the_nearest_speaks(planned, station):
    make_forecast(make_near_station("N", north_km=20), *COLD)
    WeatherStation.objects.filter(pk=station.pk).update(retired_at=cast.NOW)

    look(noon(TODAY))

    assert len(frosts()) == 1
