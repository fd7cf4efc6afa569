from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import ObservationFetch, WeatherDay
from tests import cast
from tests.scheduling.observed_files import YESTERDAY, lines, told
from tests.scheduling.services.forecast_server import serving

pytestmark = pytest.mark.django_db
CODES = ("ZZTEST0000A", "ZZTEST0000B", "ZZTEST0000C")


@pytest.fixture
def stations(company):
    return [cast.make_station(code=code, name=code) for code in CODES]


def run(**options) -> tuple[str, str]:
    """Return what the command says, and its error."""
    out = StringIO()
    try:
        call_command("fetch_observations", stdout=out, **options)
    except CommandError as error:
        return out.getvalue(), str(error)
    return out.getvalue(), ""


def source(server, *codes, **changes):
    address = f"http://127.0.0.1:{server.port}/"
    return {"style": "by-station", "address": address, "stations": list(codes), **changes}


def of_all() -> bytes:
    return told(b"".join(lines(YESTERDAY, code=code) for code in CODES))


def test_all_stations_are_fetched_and_again_without_effect(stations, settings):
    with serving(of_all()) as server:
        settings.OBSERVATION_SOURCES = [source(server, *CODES)]
        first, second = run(), run()

    assert first == (
        "".join(f"{code}: 1 days added, 0 changed, 0 of them corrected.\n" for code in CODES), "",
    )  # fmt: skip
    assert second[0].count("0 days added, 0 changed") == 3
    assert WeatherDay.objects.count() == 3


def test_one_failure_does_not_stop_the_others_and_is_told(stations, settings):
    with serving(of_all()) as good, serving(told(b"<html>", kind="text/html")) as bad:
        settings.OBSERVATION_SOURCES = [source(bad, CODES[0]), source(good, CODES[1])]
        said, error = run()

    assert said.splitlines()[0].startswith(f"{CODES[0]}: observation-content-type. The source")
    assert said.splitlines()[1].startswith(f"{CODES[1]}: 1 days added")
    assert "No observation source is set for the station ZZTEST0000C." in said
    assert error == f"1 of 3 failed: {CODES[0]}."
    assert ObservationFetch.objects.get(station=stations[0]).failures == 1


def test_one_station_can_be_named(stations, settings):
    with serving(of_all()) as server:
        settings.OBSERVATION_SOURCES = [source(server, *CODES)]

        assert run(station=CODES[1])[0].startswith(f"{CODES[1]}: 1 days added")
        assert run(station="Z") == ("", "No station has the code Z.")
    assert WeatherDay.objects.get().station == stations[1]


def test_without_a_source_nothing_is_done_and_it_says_so(stations):
    assert run() == (
        "Observations are off: the setting OBSERVATION_SOURCES names no source.\n", "",
    )  # fmt: skip
