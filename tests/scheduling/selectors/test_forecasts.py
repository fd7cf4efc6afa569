from __future__ import annotations

import datetime as dt

import pytest

from scheduling.models import ForecastDay, ForecastDocument
from scheduling.selectors.forecasts import forecast_of
from tests import cast

NOW = cast.NOW
HOUR = dt.timedelta(hours=1)

pytestmark = pytest.mark.django_db


@pytest.fixture
def place(company):
    return cast.make_station()


def make_document(station, issued_at, *dates):
    document = ForecastDocument.objects.create(
        station=station, style="daily_arrays", issued_at=issued_at, retrieved_at=issued_at + HOUR,
        body="{}", digest=str(issued_at),
    )  # fmt: skip
    for date in dates:
        ForecastDay.objects.create(station=station, document=document, date=date, rain_mm=1)
    return document


def test_the_newest_document_among_the_days_tells_the_age(place):
    make_document(place, NOW - 30 * HOUR, "2026-06-10", "2026-06-12")
    make_document(place, NOW - 5 * HOUR, "2026-06-11")
    make_document(place, NOW - HOUR)  # none of the days goes by it

    forecast = forecast_of(place, now=NOW)
    assert [day.date.day for day in forecast.days] == [10, 11, 12]
    assert (forecast.issued_at, forecast.retrieved_at) == (NOW - 5 * HOUR, NOW - 4 * HOUR)
    assert (forecast.age_hours, forecast.is_stale) == (5.0, False)


@pytest.mark.parametrize(("hours", "is_stale"), [(24, False), (24.1, True)])
def test_a_forecast_becomes_stale(place, hours, is_stale):
    make_document(place, NOW - hours * HOUR, "2026-06-12")

    assert forecast_of(place, now=NOW).is_stale is is_stale


def test_a_station_without_days_has_no_age_and_is_stale(place):
    forecast = forecast_of(place, now=NOW)

    assert (forecast.days, forecast.issued_at, forecast.age_hours) == ((), None, None)
    assert forecast.is_stale


def test_the_days_begin_with_today_by_the_companys_clock(place):
    make_document(place, NOW, "2026-06-10", "2026-06-11")

    before_midnight = dt.datetime(2026, 6, 11, 4, 59, tzinfo=dt.UTC)
    assert [day.date.day for day in forecast_of(place, now=before_midnight).days] == [10, 11]
    after = forecast_of(place, now=before_midnight + HOUR)
    assert [day.date.day for day in after.days] == [11]


def test_the_days_of_another_station_are_not_its_own(place):
    make_document(cast.make_station(code="OTHER"), NOW, "2026-06-12")

    assert forecast_of(place, now=NOW).days == ()
