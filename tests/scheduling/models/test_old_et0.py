"""Days whose ET0 is older than the word for how it was computed."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.apps import apps

from scheduling.models import WeatherDay
from tests import cast

pytestmark = pytest.mark.django_db


def test_old_et0_is_named_and_days_without_any_are_left_alone():
    station = cast.make_station()
    days = {
        "2020-01-01": (3.0, ""), "2020-01-02": (None, ""), "2020-01-03": (3.0, "calibrated"),
    }  # fmt: skip
    for date, (et0_mm, method) in days.items():
        WeatherDay.objects.create(station=station, date=date, et0_mm=et0_mm, et0_method=method)

    import_module("scheduling.migrations.0006_name_old_et0").name_hargreaves(apps, None)

    assert list(station.days.order_by("date").values_list("et0_method", flat=True)) == [
        "hargreaves", "", "calibrated",
    ]  # fmt: skip
