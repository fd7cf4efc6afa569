"""Heat by old forecasts, and at gardens without a plan."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Zone
from scheduling.models import ForecastDay, ForecastDocument, NightRun, Notice, WeatherDay
from scheduling.services.weather_news import tell_news
from tests import cast
from tests.properties import rule_rows

pytestmark = pytest.mark.django_db
DAY, NIGHT = dt.timedelta(days=1), dt.date(2026, 7, 10)
THREE = dt.datetime(2026, 7, 10, 8, tzinfo=dt.UTC)


@pytest.fixture
def garden(company):
    """A garden in use whose client agreed to notices, without plan and district."""
    garden = cast.make_property(cast.make_customer(wants_notices=True))
    cast.make_zone(cast.make_controller(garden))
    return garden


@pytest.fixture
def place(company):
    """A station that knows what is hot, and forecasts it."""
    place = cast.make_station()
    WeatherDay.objects.bulk_create(
        WeatherDay(station=place, date=NIGHT - n * DAY, tmax_c=20.0 + n % 11, tmin_c=15.0)
        for n in range(1, 5 * 366)
    )
    document = ForecastDocument.objects.create(
        station=place, style="daily_arrays", issued_at=THREE, retrieved_at=THREE, body="{}"
    )
    ForecastDay.objects.bulk_create(
        ForecastDay(station=place, document=document, date=NIGHT + n * DAY, tmax_c=44.0, tmin_c=25)
        for n in range(4)
    )
    return place


def tell() -> list[str]:
    run, _ = NightRun.objects.get_or_create(
        date=NIGHT, defaults={"started_at": THREE, "state": "done", "ended_at": THREE}
    )
    tell_news(run.pk, THREE)
    return [notice.kind for notice in Notice.objects.order_by("created_at")]


def test_a_garden_without_a_plan_hears_of_heat_once(garden, place):
    assert tell() == ["heat"]
    assert tell() == ["heat"]
    assert Notice.objects.get().property == garden


@pytest.mark.parametrize(("age_hours", "told"), [(35, ["heat"]), (37, [])])
def test_a_forecast_that_is_too_old_makes_no_heat(garden, place, age_hours, told):
    ForecastDocument.objects.update(issued_at=THREE - dt.timedelta(hours=age_hours))

    assert tell() == told


def test_a_garden_without_a_zone_in_use_hears_of_no_heat(garden, place):
    Zone.objects.update(is_active=False)

    assert tell() == []


def test_heat_and_drought_are_told_with_a_district_and_without_plan(garden, place):
    stage = rule_rows.make_stage(rule_rows.make_district())
    rule_rows.make_period(stage, first_date=NIGHT)
    type(garden).objects.update(watering_district=stage.district)

    assert sorted(tell()) == ["drought", "heat"]
