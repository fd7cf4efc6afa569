"""What a night asks for of the weather."""

from __future__ import annotations

import pytest

from properties.models import Job
from properties.services.jobs import run_job
from scheduling.models import WeatherStation
from scheduling.services import night_runs
from scheduling.services.plans import store_plans
from scheduling.services.weather_fetches import ask_for_weather
from tests import cast

pytestmark = pytest.mark.django_db
ADDRESS = "https://weather.example/"


@pytest.fixture
def stations(company):
    return [cast.make_station(code=code, name=code) for code in ("A", "B", "C")]


def asked() -> list[tuple[str, str]]:
    codes = dict(WeatherStation.objects.values_list("pk", "code"))
    return sorted((kind, codes[pk]) for kind, pk in Job.objects.values_list("kind", "subject_id"))


def test_each_station_is_asked_for_what_it_has_a_source_of(stations, settings):
    settings.OBSERVATION_SOURCES = [{"style": "dly", "address": ADDRESS, "stations": ["A", "B"]}]
    settings.FORECAST_SOURCES = [{"style": "daily_arrays", "address": ADDRESS, "stations": ["B"]}]

    assert ask_for_weather(now=cast.NOW)
    assert ask_for_weather(now=cast.NOW)

    assert asked() == [("forecast", "B"), ("observations", "A"), ("observations", "B")]


def test_without_a_source_there_is_nothing_to_wait_for(stations):
    assert not ask_for_weather(now=cast.NOW)
    assert asked() == []


def test_a_retired_station_is_left_alone(stations, settings):
    settings.OBSERVATION_SOURCES = [{"style": "dly", "address": ADDRESS}]
    WeatherStation.objects.exclude(code="A").update(retired_at=cast.NOW)

    ask_for_weather(now=cast.NOW)

    assert asked() == [("observations", "A")]


def test_a_wrong_setting_stops_no_night_and_its_jobs_tell(stations, settings):
    settings.OBSERVATION_SOURCES = ["dly"]

    assert ask_for_weather(now=cast.NOW)
    assert {kind for kind, _ in asked()} == {"observations"}


def test_the_slices_of_a_night_wait_for_observed_days_too(company, settings):
    settings.OBSERVATION_SOURCES = [{"style": "dly", "address": ADDRESS}]
    garden, station = cast.make_property(), cast.make_station()
    cast.make_weather(station)
    cast.make_heads(cast.make_zone(cast.make_controller(garden)))
    store_plans(garden, actor=None, now=cast.NOW)

    night_runs.start_night_when_due(now=cast.NOW)
    run_job(Job.objects.get(kind="night-start").pk, now=cast.NOW)

    assert Job.objects.filter(kind="observations").count() == 1
    (part,) = Job.objects.filter(kind="night-slice")
    assert part.due_at == cast.NOW + night_runs.FORECASTS_TAKE
