from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import ForecastDay, ForecastFetch
from tests import cast
from tests.scheduling.forecast_files import arrays
from tests.scheduling.services.forecast_server import answer, serving

pytestmark = pytest.mark.django_db


@pytest.fixture
def stations(company):
    return [cast.make_station(code=code, name=code) for code in ("A", "B", "C")]


def run(**options) -> tuple[str, str]:
    """Return what the command says, and its error."""
    out = StringIO()
    try:
        call_command("fetch_forecasts", stdout=out, **options)
    except CommandError as error:
        return out.getvalue(), str(error)
    return out.getvalue(), ""


def source(server, *codes, **changes):
    address = f"http://127.0.0.1:{server.port}/"
    return {"style": "daily_arrays", "address": address, "stations": list(codes), **changes}


def test_all_stations_are_fetched(stations, settings):
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [source(server, "A", "B", "C")]
        said, error = run()

    assert said.splitlines() == [f"{code}: 3 days stored." for code in "ABC"]
    assert error == ""
    assert ForecastDay.objects.count() == 9


def test_one_failure_does_not_stop_the_others_and_is_told(stations, settings):
    with serving(answer(arrays())) as good, serving(answer(b"<")) as bad:
        settings.FORECAST_SOURCES = [source(bad, "A"), source(good, "B", "C")]
        said, error = run()

    assert said.splitlines()[0].startswith("A: forecast-not-json. The forecast is not JSON")
    assert said.splitlines()[1:] == ["B: 3 days stored.", "C: 3 days stored."]
    assert error == "1 of 3 failed: A."
    assert ForecastFetch.objects.get(station=stations[0]).failures == 1


def test_a_wrong_setting_is_a_failure_a_station_without_a_source_is_none(stations, settings):
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [source(server, "A"), source(server, "B", style="weekly")]
        said, error = run()

    assert "B: The setting FORECAST_SOURCES cannot be right" in said
    assert "C: No forecast source is set for the station C." in said
    assert error == "1 of 3 failed: B."


def test_one_station_can_be_named(stations, settings):
    with serving(answer(arrays())) as server:
        settings.FORECAST_SOURCES = [source(server, "A", "B")]
        said, _ = run(station="B")

        assert said == "B: 3 days stored.\n"
        assert run(station="Z") == ("", "No station has the code Z.")


def test_without_a_source_nothing_is_done_and_it_says_so(stations):
    assert run() == (
        "Forecasts are off: the setting FORECAST_SOURCES names no source.\n", "",
    )  # fmt: skip
