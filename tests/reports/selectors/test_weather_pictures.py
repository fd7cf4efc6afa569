from __future__ import annotations

import datetime as dt

import pytest

from reports.selectors.weather_pictures import rain_and_et0_of, stored_water_of
from tests import cast
from tests.scheduling.selectors.test_water_accounts import set_down
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


def test_the_store_tells_what_is_not_known_of_it(visit, zone):
    main = make_near_station("ZZMAIN")
    make_days(main, count=800)
    cast.make_catch_test(visit, zone)
    clear(main, YESTERDAY - dt.timedelta(days=4), rain_mm=None)
    clear(main, YESTERDAY - dt.timedelta(days=6), et0_mm=None)
    set_down(zone, YESTERDAY - dt.timedelta(days=9), 6, range(7))

    content = stored_water_of(zone, cast.TODAY, "metric")

    assert [place for place, rain in enumerate(content.rain_mm) if rain is None] == [55]
    assert [place for place, usual in enumerate(content.usual) if usual] == [53]
    assert (content.setting_since, content.unset_days) == (YESTERDAY - dt.timedelta(days=9), 50)
    assert content.watered_mm[49] == 0.0 < content.watered_mm[50]
