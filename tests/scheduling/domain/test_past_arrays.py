"""Days that were, out of a document of parallel arrays."""

from __future__ import annotations

import datetime as dt
import zoneinfo

import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain.forecast_arrays import position_of, read_past_arrays
from tests.scheduling.forecast_files import arrays

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
FIRST, LAST = dt.date(2026, 6, 3), dt.date(2026, 6, 9)


def read(document, first=FIRST, last=LAST):
    return read_past_arrays(document, CHICAGO, first=first, last=last)


def test_only_the_days_that_were_asked_for_are_read():
    reading = read(arrays())

    (day,) = reading.days
    assert (day.date, day.tmin_c, day.tmax_c, day.rain_mm) == (LAST, 14.0, 28.0, 3.0)
    assert (reading.problem_count, reading.problems) == (0, ())
    assert [day.date.day for day in read(arrays(), last=dt.date(2026, 6, 11)).days] == [9, 10, 11]


def test_what_cannot_be_is_left_out_and_named():
    document = arrays()
    document["daily"]["precipitation_sum"][0] = -3

    reading = read(document)
    assert reading.days[0].rain_mm is None
    assert reading.problem_count == 1


def test_a_document_without_any_of_the_days_is_refused():
    with pytest.raises(InvalidInputError, match="from 2026-05-01 to 2026-05-02") as refusal:
        read(arrays(), dt.date(2026, 5, 1), dt.date(2026, 5, 2))
    assert refusal.value.code == "forecast-empty"


def test_the_clock_must_be_that_of_the_place():
    with pytest.raises(InvalidInputError) as refusal:
        read(arrays() | {"timezone": "GMT"})
    assert refusal.value.code == "forecast-zone"


@pytest.mark.parametrize(
    ("document", "position"),
    [
        (arrays(), (40.4, -101.73)),
        ({"latitude": 1}, None),
        ({"latitude": "1", "longitude": 2}, None),
        ({"latitude": True, "longitude": 2}, None),
        ([], None),
    ],
)
def test_the_position_is_what_the_document_says(document, position):
    assert position_of(document) == position
