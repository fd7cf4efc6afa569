"""How far a station's days go, and having them fetched."""

from __future__ import annotations

import datetime as dt

import pytest

from properties.models import Job
from scheduling.models import WeatherDay
from scheduling.services.observations import fetch_observations
from tests import cast
from tests.background import work
from tests.scheduling.observed_files import YESTERDAY, days_before, lines, past_arrays, told
from tests.scheduling.services.forecast_server import answer, serving

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


@pytest.fixture
def place(company):
    return cast.make_station()


@pytest.fixture
def source(settings):
    """A server whose answers a test may replace."""
    with serving(told(lines(*days_before(3)))) as server:
        settings.OBSERVATION_SOURCES = [
            {"style": "by-station", "address": f"http://127.0.0.1:{server.port}/?key=s3cret"}
        ]
        yield server


def observations_at(place):
    return f"/api/v1/weather-stations/{place.pk}/observations"


def have_fetched(api, place):
    address = f"/api/v1/weather-stations/{place.pk}/fetch-observations"
    return api.post(address, HTTP_IDEMPOTENCY_KEY="fetch-1")


def test_the_office_has_days_fetched_and_all_read_how_far_they_go(
    place, source, office_api, technician_api
):
    asked = have_fetched(office_api, place)
    assert (asked.status_code, asked.json()["kind"]) == (202, "observations")
    assert "observations" in work()

    assert technician_api.get(observations_at(place)).json() == {
        "is_configured": True, "observed_date": "2026-06-09", "newest_date": "2026-06-09",
        "age_days": 1, "is_late": False, "tried_at": "2026-06-10T15:00:00Z",
        "succeeded_at": "2026-06-10T15:00:00Z", "failures": 0, "problem": "", "days_added": 3,
        "days_corrected": 0, "corrections": 0,
    }  # fmt: skip


def test_a_dead_source_leaves_the_last_days_and_their_age(place, source, office_api):
    fetch_observations(place, now=cast.NOW)
    WeatherDay.objects.filter(date__gt=YESTERDAY - 2 * DAY).delete()
    source.answers[:] = [answer(status=404)]
    fetch_observations(place, now=cast.NOW)

    content = office_api.get(observations_at(place)).json()
    assert (content["age_days"], content["is_late"], content["failures"]) == (3, True, 1)
    assert "HTTP 404" in content["problem"]
    assert "s3cret" not in str(content)


def test_days_of_an_analysis_are_told_apart(place, settings, office_api):
    with serving(answer(past_arrays(YESTERDAY))) as server:
        settings.OBSERVATION_SOURCES = [
            {"style": "daily_arrays", "address": f"http://127.0.0.1:{server.port}/"}
        ]
        fetch_observations(place, now=cast.NOW)

    content = office_api.get(observations_at(place)).json()
    assert (content["observed_date"], content["newest_date"]) == (None, "2026-06-09")
    assert (content["age_days"], content["is_late"]) == (None, True)
    span = {"first": "2026-06-09", "last": "2026-06-09"}
    (day,) = office_api.get(f"/api/v1/weather-stations/{place.pk}/weather", span).json()
    assert day["analysed"] == ["tmin", "tmax", "rain"]


def test_without_a_source_the_feature_is_off_and_says_so(place, office_api):
    refused = have_fetched(office_api, place)
    content = office_api.get(observations_at(place)).json()

    assert refused.status_code == 409
    assert "no-observation-source" in refused.content.decode()
    assert not Job.objects.exists()
    assert (content["is_configured"], content["tried_at"], content["age_days"]) == (
        False, None, None,
    )  # fmt: skip


def test_a_technician_and_a_stranger_cannot_have_them_fetched(
    place, source, technician_api, anonymous_api
):
    assert have_fetched(technician_api, place).status_code == 403
    assert have_fetched(anonymous_api, place).status_code == 401
    assert anonymous_api.get(observations_at(place)).status_code == 401
    assert not Job.objects.exists()


def test_more_days_cost_no_more_queries(place, office_api, django_assert_num_queries):
    cast.make_weather(place, years=1)
    with django_assert_num_queries(5):
        office_api.get(observations_at(place))
