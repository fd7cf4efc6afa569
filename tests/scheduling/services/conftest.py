"""A station, and how its forecast is fetched from a server on this machine."""

from __future__ import annotations

import pytest

from scheduling.services.forecasts import fetch_forecast
from scheduling.services.observations import fetch_observations
from tests import cast
from tests.scheduling.services.forecast_server import serving


@pytest.fixture
def place(company):
    return cast.make_station()


@pytest.fixture
def fetch(place, settings):
    """Return a function that fetches the station's forecast from a server of these answers."""

    def fetch_from(*answers, style="daily_arrays", now=cast.NOW):
        with serving(*answers) as server:
            settings.FORECAST_SOURCES = [
                {"style": style, "address": f"http://127.0.0.1:{server.port}/?key=s3cret"}
            ]
            return fetch_forecast(place, now=now)

    return fetch_from


@pytest.fixture
def observe(place, settings):
    """Return a function that fetches the station's days from a server of these answers."""

    def observe_from(*answers, style="by-station", now=cast.NOW, **more):
        with serving(*answers) as server:
            address = (
                f"http://127.0.0.1:{server.port}/{{station}}?from={{first}}&to={{last}}&k=s3cret"
            )
            settings.OBSERVATION_SOURCES = [{"style": style, "address": address, **more}]
            outcome = fetch_observations(place, now=now)
            observe_from.asked = server.requests
            return outcome

    return observe_from
