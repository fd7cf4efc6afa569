"""What the database itself holds true of weather and plans."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import WateringPlan, WeatherDay, WeatherStation
from tests import cast


@pytest.fixture
def rows(visit, zone):
    station = cast.make_station()
    for day in (1, 2):
        WeatherDay.objects.create(
            station=station, date=dt.date(2025, 6, day), tmin_c=10, tmax_c=20, rain_mm=0
        )
    test = cast.make_catch_test(visit, zone)
    for number in (1, 2):
        WateringPlan.objects.create(
            zone=zone, number=number, station=station, test=test, is_estimated=False, inputs={},
            months=[], settings_digest="-", **cast.ROW,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("model", "changes"),
    [
        (WeatherStation, {"latitude": 90.1}),
        (WeatherStation, {"longitude": -180.1}),
        (WeatherStation, {"elevation_m": 6000.1}),
        (WeatherDay, {"date": dt.date(2025, 6, 3)}),
        (WeatherDay, {"tmin_c": 20.1}),
        (WeatherDay, {"tmax_c": 60.1}),
        (WeatherDay, {"tmin_c": -90.1}),
        (WeatherDay, {"rain_mm": -0.1}),
        (WateringPlan, {"number": 3}),
        (WateringPlan, {"is_estimated": True}),
        (WateringPlan, {"test": None}),
    ],
)
def test_what_cannot_be_is_not_stored(rows, model, changes):
    before = list(model.objects.order_by("pk").values())

    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.update(**changes)

    assert list(model.objects.order_by("pk").values()) == before


def test_a_day_may_lack_any_value(rows):
    for name in ("tmin_c", "tmax_c", "rain_mm"):
        WeatherDay.objects.update(**{name: None})
