from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Job
from scheduling.models import ForecastDay
from scheduling.services.forecasts import fetch_forecast
from tests import cast
from tests.background import work
from tests.problems import pointers
from tests.scheduling.forecast_files import arrays
from tests.scheduling.services.forecast_server import answer, serving
from tests.writes import keyed

pytestmark = pytest.mark.django_db


@pytest.fixture
def place(company):
    return cast.make_station()


@pytest.fixture
def source(settings):
    """A server whose answers a test may replace."""
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [
            {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/?key=s3cret"}
        ]
        yield server


def forecast_at(place):
    return f"/api/v1/weather-stations/{place.pk}/forecast"


def fetch_at(place):
    return f"/api/v1/weather-stations/{place.pk}/fetch-forecast"


def test_the_office_has_a_forecast_fetched_and_all_read_it(
    place, source, office_api, technician_api
):
    asked = office_api.post(fetch_at(place), headers=keyed())
    assert (asked.status_code, asked.json()["kind"]) == (202, "forecast")
    assert "forecast" in work()

    content = technician_api.get(forecast_at(place), {"units": "metric"}).json()
    assert content["days"][1] == {
        "date": "2026-06-11", "issued_at": "2026-06-10T15:00:00Z",
        "tmin": {"value": 16.0, "unit": "degC"}, "tmax": {"value": 31.5, "unit": "degC"},
        "rain": {"value": 12.5, "unit": "mm"}, "rain_probability_percent": 80.0,
        "humidity_percent": None, "wind": None, "solar_mj_m2": 18.0,
        "et0": content["days"][1]["et0"], "provider_et0": {"value": 4.2, "unit": "mm"},
    }  # fmt: skip
    assert content["days"][1]["et0"]["value"] > 4
    del content["days"]
    assert content == {
        "is_configured": True, "issued_at": "2026-06-10T15:00:00Z",
        "retrieved_at": "2026-06-10T15:00:00Z", "age_hours": 0.0, "is_stale": False, "tells": True,
        "tried_at": "2026-06-10T15:00:00Z", "succeeded_at": "2026-06-10T15:00:00Z",
        "failures": 0, "problem": "",
    }  # fmt: skip


def test_units_are_those_of_the_request_or_of_the_company(place, source, office_api):
    fetch_forecast(place, now=cast.NOW)

    day = office_api.get(forecast_at(place)).json()["days"][0]
    assert day["tmax"] == {"value": 86.0, "unit": "degF"}
    assert pointers(office_api.get(forecast_at(place), {"units": "yards"})) == ["/units"]


def test_a_dead_source_leaves_the_last_days_and_their_age(place, source, office_api):
    fetch_forecast(place, now=cast.NOW - dt.timedelta(hours=30))
    source.answers[:] = [answer(status=404)]
    fetch_forecast(place, now=cast.NOW)

    content = office_api.get(forecast_at(place)).json()
    assert len(content["days"]) == 3
    assert (content["age_hours"], content["is_stale"], content["tells"]) == (30.0, True, True)
    assert (content["failures"], content["succeeded_at"]) == (1, "2026-06-09T09:00:00Z")
    assert "HTTP 404" in content["problem"]
    assert "s3cret" not in str(content)


def test_without_a_source_the_feature_is_off_and_says_so(place, office_api):
    refused = office_api.post(fetch_at(place), headers=keyed())
    content = office_api.get(forecast_at(place)).json()

    assert (refused.status_code, refused.json()["code"]) == (
        409,
        "no-forecast-source",
    )
    assert not Job.objects.exists()
    assert (content["is_configured"], content["days"], content["tried_at"]) == (False, [], None)


def test_a_technician_and_a_stranger_cannot_have_it_fetched(
    place, source, technician_api, anonymous_api
):
    assert technician_api.post(fetch_at(place), headers=keyed()).status_code == 403
    assert anonymous_api.post(fetch_at(place), headers=keyed()).status_code == 401
    assert anonymous_api.get(forecast_at(place)).status_code == 401
    assert not Job.objects.exists()


def test_more_days_cost_no_more_queries(
    place, source, office_api, django_assert_num_queries, django_assert_max_num_queries
):
    fetch_forecast(place, now=cast.NOW)
    with django_assert_max_num_queries(6) as few:
        office_api.get(forecast_at(place))

    document = ForecastDay.objects.first().document
    for index in range(10):
        date = dt.date(2026, 6, 13) + dt.timedelta(days=index)
        ForecastDay.objects.create(station=place, document=document, date=date, rain_mm=1)
    with django_assert_num_queries(len(few)):
        assert len(office_api.get(forecast_at(place)).json()["days"]) == 13
