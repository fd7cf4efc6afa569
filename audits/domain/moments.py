"""The one refusal of a moment that does not say where on the clock of the world it lies."""

from __future__ import annotations

from datetime import datetime

from properties.domain.errors import InvalidInputError


def require_time_zone(moment: datetime, *, field: str) -> datetime:
    """Return the moment if it has a time zone; without one, two moments cannot be ordered.

    Raises
    ------
    InvalidInputError
        Code "moment-without-zone".
    """
    if moment.tzinfo is None:
        raise InvalidInputError(
            f"{moment:%Y-%m-%d %H:%M} has no time zone.",
            field=field, code="moment-without-zone", remedy="Give the moment with its offset.",
        )  # fmt: skip
    return moment
