"""What sources of observed days answer in the tests."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduling.models import WeatherDay
from tests import cast
from tests.scheduling.services.forecast_server import answer

CODE = "ZZTEST00001"
YESTERDAY = cast.TODAY - dt.timedelta(days=1)


def lines(
    *dates: dt.date, code: str = CODE, tmin: int = 120, tmax: int = 280, rain: int = 15
) -> bytes:
    """Element lines of some days, in tenths."""
    elements = {"TMIN": tmin, "TMAX": tmax, "PRCP": rain}
    rows = [
        f"{code},{date:%Y%m%d},{element},{value},,,7,0700\n"
        for date in dates
        for element, value in elements.items()
    ]
    return "".join(rows).encode()


def days_before(count: int, last: dt.date = YESTERDAY) -> list[dt.date]:
    """So many days up to the last, in their order."""
    return [last - dt.timedelta(days=n) for n in reversed(range(count))]


def told(body: bytes, **changes: Any) -> bytes:
    return answer(body, **{"kind": "text/csv", **changes})


def stored_days() -> list[dict[str, Any]]:
    """All days as they stand, without their keys."""
    rows = WeatherDay.objects.order_by("station", "date").values()
    return [{name: value for name, value in row.items() if name != "id"} for row in rows]


def past_arrays(*dates: dt.date, **columns: Any) -> dict[str, Any]:
    """A document of parallel arrays for the cast's station; more arrays by their names."""
    arrays = {
        "temperature_2m_max": [25.0] * len(dates),
        "temperature_2m_min": [11.0] * len(dates),
        "precipitation_sum": [2.5] * len(dates),
        **columns,
    }
    units = {
        "temperature_2m_max": "°C", "temperature_2m_min": "°C", "precipitation_sum": "mm",
        "wind_speed_10m_mean": "m/s", "relative_humidity_2m_mean": "%",
        "shortwave_radiation_sum": "MJ/m²",
    }  # fmt: skip
    return {
        "latitude": 40.38, "longitude": -101.75, "timezone": "America/Chicago",
        "daily_units": units,
        "daily": {"time": [date.isoformat() for date in dates], **arrays},
    }  # fmt: skip
