"""Unit systems of answers."""

from __future__ import annotations

import pytest

STATIONS = "/api/v1/weather-stations"


@pytest.fixture
def elevation(office_api, station):
    def read(query: str = "") -> dict:
        return office_api.get(f"{STATIONS}/{station.pk}{query}").json()["elevation"]

    return read


def test_computed_values_come_in_the_units_of_the_company(elevation, company):
    """1,072 m / 0.3048 = 3,517.06 ft (arithmetic)."""
    assert elevation() == {"value": 3517.06, "unit": "ft"}

    company.units = "metric"
    company.save()

    assert elevation() == {"value": 1072.0, "unit": "m"}


def test_the_request_may_ask_for_another_unit_system(elevation):
    assert elevation("?units=metric") == {"value": 1072.0, "unit": "m"}
    assert elevation("?units=us") == {"value": 3517.06, "unit": "ft"}


@pytest.mark.parametrize("asked", ["", "imperial", "US"])
def test_an_unknown_unit_system_is_refused_by_naming_the_two(office_api, company, asked):
    answer = office_api.get(STATIONS, {"units": asked})

    assert answer.status_code == 400
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "/units"
    assert error["detail"] == "Use 'us' or 'metric'."
