"""What a monitor is told of the weather."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from properties.models import Zone
from scheduling.models import ForecastDocument, ForecastFetch, ObservationFetch, WeatherDay
from scheduling.selectors.operation import operation
from scheduling.services.plan_months import make_plan_months
from scheduling.services.plans import store_plans
from tests import cast
from tests.scheduling.weather_rows import make_days, make_forecast

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def used(garden, station):
    """The station that a plan goes by."""
    cast.make_heads(cast.make_zone(cast.make_controller(garden)))
    store_plans(garden, actor=None, now=cast.NOW)
    make_plan_months()
    assert Zone.objects.count() == 1
    return station


def test_the_age_of_observed_days_leaves_an_analysis_out(used):
    make_days(used, count=10)
    WeatherDay.objects.filter(date__gt=cast.TODAY - 4 * DAY).update(analysed=1)

    found = operation(cast.NOW)

    assert (found["weather_age_days"], found["observed_age_days"]) == (1, 4)


def test_failures_are_named_with_their_problem(used):
    other = cast.make_station(code="ZZOTHER0001")
    ObservationFetch.objects.create(station=other, tried_at=cast.NOW)
    ObservationFetch.objects.create(
        station=used, tried_at=cast.NOW, failures=2, problem="The source did not answer in time."
    )
    ForecastFetch.objects.create(station=used, tried_at=cast.NOW, failures=1, problem="HTTP 404.")

    found = operation(cast.NOW)

    assert found["observations_failing"] == [
        {"station": "ZZTEST00001", "problem": "The source did not answer in time."}
    ]
    assert found["forecasts_failing"] == 1


def test_stations_that_warn_of_no_frost_are_named_with_the_reason(used):
    make_forecast(used, {"tmin_c": 9.0})
    assert operation(cast.NOW)["stations_without_frost_warning"] == []

    ForecastDocument.objects.update(issued_at=cast.NOW - dt.timedelta(hours=37))
    ForecastFetch.objects.create(station=used, tried_at=cast.NOW, failures=1, problem="HTTP 404.")

    assert operation(cast.NOW)["stations_without_frost_warning"] == [
        {"station": "ZZTEST00001", "problem": "HTTP 404."}
    ]


def test_more_stations_cost_no_more_queries(used, django_assert_num_queries):
    with CaptureQueriesContext(connection) as few:
        operation(cast.NOW)
    for number in range(25):
        station = cast.make_station(code=f"ZZMORE{number:05}")
        ObservationFetch.objects.create(station=station, tried_at=cast.NOW, failures=1)
        ForecastFetch.objects.create(station=station, tried_at=cast.NOW)

    with django_assert_num_queries(len(few)):
        found = operation(cast.NOW)
    assert len(found["observations_failing"]) == len(found["stations_without_frost_warning"]) == 20
