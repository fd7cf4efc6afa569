from __future__ import annotations

import datetime as dt

import pytest

from reports.selectors.weather_pictures import rain_and_et0_of
from tests import cast
from tests.scheduling.weather_rows import YESTERDAY, clear, make_days, make_near_station


@pytest.fixture
def main(garden):
    station = make_near_station("ZZMAIN", north_km=16.09344)
    make_days(station)
    return station


def test_the_content_is_the_weather_of_the_property(garden, main):
    neighbour = make_near_station("ZZNEAR", north_km=30)
    make_days(neighbour)
    hole, gap = (YESTERDAY - dt.timedelta(days=age) for age in (5, 6))
    for station, date in ((main, hole), (main, gap), (neighbour, gap)):
        clear(station, date)

    content = rain_and_et0_of(garden, cast.TODAY, "us")

    assert content.title == "Rain and ET0: Holm garden"
    assert content.source == ("Station ZZMAIN, 10.0 miles away; one day filled in; one day unknown")
    assert (content.first_date, len(content.rain_mm)) == (YESTERDAY - dt.timedelta(days=59), 60)
    assert content.rain_mm[-1] == main.days.get(date=YESTERDAY).rain_mm
    assert content.et0_mm[-1] == main.days.get(date=YESTERDAY).et0_mm
    assert (content.et0_mm[-7], content.rain_mm[-7]) == (None, None)
    assert [place for place, filled in enumerate(content.filled) if filled] == [54]
