"""The made-up forecast documents of the tests; their moments fit the cast's."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from scheduling.models import ForecastDay, ForecastDocument

DATA = Path(__file__).parent / "data"


def grid() -> dict[str, Any]:
    return json.loads((DATA / "forecast_grid.json").read_text())


def arrays() -> dict[str, Any]:
    return json.loads((DATA / "forecast_arrays.json").read_text())


def stored_forecasts() -> tuple[list[Any], list[Any]]:
    """Return everything about forecasts but how fetching went."""
    return (
        list(ForecastDay.objects.order_by("date").values()),
        list(ForecastDocument.objects.order_by("pk").values()),
    )
