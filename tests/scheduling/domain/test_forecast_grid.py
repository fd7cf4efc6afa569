from __future__ import annotations

import datetime as dt
import zoneinfo

import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.forecast_grid import read_grid
from scheduling.domain.forecast_values import ForecastValues
from tests.scheduling.forecast_files import grid

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
NOW = dt.datetime(2026, 6, 10, 15, 0, tzinfo=dt.UTC)


def read(document, now=NOW):
    return read_grid(document, CHICAGO, retrieved_at=now)


def values_of(layer, *entries):
    document = grid()
    document["properties"][layer]["values"] = [
        {"validTime": time, "value": value} for time, value in entries
    ]
    return document


def test_reads_a_whole_document_by_local_days():
    reading = read(grid())

    # Arithmetic: Chicago's day is 05:00 to 05:00 UTC. Rain of the 10th: 6 + 12 x 5/12; of the
    # 11th: 12 x 7/12 + 0 + 12 x 5/12. Humidity of the 11th: (6 x 80 + 18 x 40) / 24.
    assert reading.issued_at == dt.datetime(2026, 6, 10, 14, tzinfo=dt.UTC)
    assert reading.problems == ()
    assert reading.days == (
        ForecastValues(
            dt.date(2026, 6, 10), 15.0, 30.0, pytest.approx(11.0), 70.0, pytest.approx(60.0),
            pytest.approx(4.0),
        ),
        ForecastValues(
            dt.date(2026, 6, 11), 16.0, 31.5, pytest.approx(12.0), 70.0, pytest.approx(50.0),
            pytest.approx(4.0),
        ),
    )  # fmt: skip


def test_converts_degrees_fahrenheit():
    document = grid()
    document["properties"]["maxTemperature"]["uom"] = "wmoUnit:degF"
    document["properties"]["maxTemperature"]["values"][0]["value"] = 86

    assert read(document).days[0].tmax_c == pytest.approx(30.0)


def test_a_null_leaves_its_day_without_the_value():
    document = grid()
    document["properties"]["quantitativePrecipitation"]["values"][1]["value"] = None

    first, second = read(document).days
    assert (first.rain_mm, second.rain_mm) == (None, pytest.approx(12.0))
    assert read(document).problem_count == 0


@pytest.mark.parametrize("unit", ["wmoUnit:furlong", None, 7, ["wmoUnit:mm"], "wmoUnit:degC"])
def test_a_layer_of_an_unknown_unit_is_left_out_and_named(unit):
    document = grid()
    document["properties"]["quantitativePrecipitation"]["uom"] = unit

    reading = read(document)
    assert [day.rain_mm for day in reading.days] == [None, None]
    assert [day.tmax_c for day in reading.days] == [30.0, 31.5]
    assert reading.problems[0].startswith("quantitativePrecipitation: the unit ")


@pytest.mark.parametrize("layer", [None, [], {}, {"uom": "wmoUnit:mm", "values": {"a": 1}}])
def test_a_missing_layer_is_named(layer):
    document = grid()
    document["properties"]["quantitativePrecipitation"] = layer

    reading = read(document)
    assert reading.days[0].rain_mm is None
    assert reading.problems == ("quantitativePrecipitation: is missing, or has no list of values",)


@pytest.mark.parametrize(
    "value", [99, -120, "30", True, [], 1e400, 10**400, float("nan"), float("-inf")]
)
def test_a_value_that_cannot_be_right_is_left_out_and_named(value):
    document = grid()
    document["properties"]["maxTemperature"]["values"][0]["value"] = value

    reading = read(document)
    assert [day.tmax_c for day in reading.days] == [None, 31.5]
    assert reading.problem_count == 1
    assert reading.problems[0].startswith("maxTemperature '2026-06-10T12:00:00+00:00/PT13H': ")


@pytest.mark.parametrize("time", [
    "2026-06-10T12:00:00+00:00", "2026-06-10T12:00:00/PT13H", "/PT13H", "soon/PT13H", None, 5,
    "2026-06-10T12:00:00+00:00/PT0H", "2026-06-10T12:00:00+00:00/P400D",
    "2036-06-10T12:00:00+00:00/PT13H", "0001-01-01T00:00:00+14:00/PT13H",
    "9999-12-31T23:00:00-12:00/PT13H",
])  # fmt: skip
def test_a_time_that_cannot_be_right_is_left_out_and_named(time):
    reading = read(values_of("maxTemperature", (time, 30), ("2026-06-11T12:00:00Z/PT13H", 31)))

    assert [day.tmax_c for day in reading.days] == [None, 31.0]
    assert "cannot be right" in reading.problems[0]


def test_what_overlaps_falls_once():
    twice = [("2026-06-10T05:00:00+00:00/P1D", 10), ("2026-06-10T05:00:00+00:00/P1D", 10)]

    reading = read(values_of("quantitativePrecipitation", *twice))
    assert reading.days[0].rain_mm == pytest.approx(10.0)
    assert "overlaps" in reading.problems[0]


def test_amounts_that_add_up_to_the_unbelievable_are_left_out():
    flood = [("2026-06-10T05:00:00Z/PT12H", 1500), ("2026-06-10T17:00:00Z/PT12H", 1500)]

    reading = read(values_of("quantitativePrecipitation", *flood))
    assert reading.days[0].rain_mm is None
    assert reading.problems == ("2026-06-10: rain_mm adds up to 3000",)


def test_a_mean_of_full_humidity_is_no_more_than_full():
    odd = [(f"2026-06-10T05:{minute:02}:00Z/PT1M", 100) for minute in range(60)]
    odd.append(("2026-06-10T06:00:00Z/PT23H", 100))

    assert read(values_of("relativeHumidity", *odd)).days[0].humidity_percent <= 100


def test_a_lowest_above_the_highest_drops_both():
    document = grid()
    document["properties"]["minTemperature"]["values"][0]["value"] = 35

    first = read(document).days[0]
    assert (first.tmin_c, first.tmax_c, first.rain_mm) == (None, None, pytest.approx(11.0))


@pytest.mark.parametrize(
    "stated", [None, 5, "yesterday", "2026-06-10T18:00:00Z", "2026-06-10T12:00:00"]
)
def test_an_issue_time_that_cannot_be_right_becomes_the_retrieval(stated):
    document = grid()
    document["properties"]["updateTime"] = stated

    reading = read(document)
    assert reading.issued_at == NOW
    assert reading.problems[0].startswith("issue time: ")


@pytest.mark.parametrize("document", [None, [], 5, "x", {}, {"properties": []}])
def test_another_shape_is_refused_by_name(document):
    with pytest.raises(InvalidInputError) as refusal:
        read(document)

    assert refusal.value.code == "forecast-shape"


def test_a_document_without_a_usable_day_is_refused():
    with pytest.raises(InvalidInputError) as of_nothing:
        read({"properties": {}})
    with pytest.raises(InvalidInputError) as of_the_past:
        read(grid(), NOW + dt.timedelta(days=3))

    assert of_nothing.value.code == of_the_past.value.code == "forecast-empty"
    assert "maxTemperature: is missing" in of_nothing.value.detail


def test_days_too_far_ahead_are_left_out():
    far = ("2026-06-27T05:00:00+00:00/P1D", 20)  # 17 days ahead

    reading = read(values_of("maxTemperature", ("2026-06-26T05:00:00+00:00/P1D", 19), far))
    assert reading.days[-1].date == dt.date(2026, 6, 26)
    assert "2026-06-27: is more than 16 days ahead" in reading.problems
