"""Stations and days around the cast's garden, for tests of what a property's weather is."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduling.models import ForecastDay, ForecastDocument, WeatherDay, WeatherStation
from tests import cast

YESTERDAY = cast.TODAY - dt.timedelta(days=1)


def make_near_station(code: str, *, north_km: float = 0.0, **changes: Any) -> WeatherStation:
    """A station so far north of the garden, as high as the cast's station."""
    place = {"latitude": 40.42 + north_km / 111.195, "longitude": -101.70}
    return cast.make_station(code=code, name=f"Station {code}", **{**place, **changes})


def make_days(
    station: WeatherStation, *, last: dt.date = YESTERDAY, count: int = 400, warmer: float = 0.0
) -> None:
    """Days up to `last` that differ from one another; `warmer` shifts temperatures and ET0."""
    WeatherDay.objects.bulk_create(
        _day(station, last - dt.timedelta(days=age), warmer) for age in range(count)
    )


def _day(station: WeatherStation, date: dt.date, warmer: float) -> WeatherDay:
    wave = date.toordinal() % 7
    return WeatherDay(
        station=station, date=date, tmin_c=10.0 + wave + warmer, tmax_c=22.0 + wave + warmer,
        rain_mm=12.0 if wave == 0 else 0.0, et0_mm=4.0 + wave / 10 + warmer / 10,
        et0_method="hargreaves",
    )  # fmt: skip


def clear(station: WeatherStation, date: dt.date, **values: Any) -> None:
    """Take values of a day away; without any named, the whole day."""
    rows = WeatherDay.objects.filter(station=station, date=date)
    if values:
        rows.update(**values)
    else:
        rows.delete()


def make_forecast(station: WeatherStation, *days: dict[str, Any]) -> None:
    """A forecast from today on, one dictionary a day."""
    document = ForecastDocument.objects.create(
        station=station, style="daily_arrays", issued_at=cast.NOW, retrieved_at=cast.NOW,
        body="{}", digest="x",
    )  # fmt: skip
    for ahead, values in enumerate(days):
        date = cast.TODAY + dt.timedelta(days=ahead)
        ForecastDay.objects.create(station=station, document=document, date=date, **values)
