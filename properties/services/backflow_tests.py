"""The last test of a property's backflow assembly."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Final

from properties.domain.errors import InvalidInputError

_ZONES: Final = timedelta(hours=14)  # how far a local day may be ahead


def refuse_test_to_come(values: Mapping[str, Any], *, now: datetime) -> None:
    """Refuse a last test that nobody can have made yet: the next one would be due too late."""
    tested = values.get("backflow_tested_on")
    if tested is not None and tested > (now + _ZONES).date():
        raise InvalidInputError(
            f"{tested} is still to come.",
            field="backflow_tested_on", code="day-to-come",
            remedy="Give the day of the last test, or leave it empty.",
        )  # fmt: skip
