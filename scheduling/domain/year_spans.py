"""Parts of the year that come round, and what plants live through in them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from properties.domain.errors import InvalidInputError


@dataclass(frozen=True)
class YearSpan:
    """Days of every year from one to another, both included, as month and day such as 11-15.

    It may pass the new year.
    """

    first: str
    last: str

    def __post_init__(self) -> None:
        for field in ("first", "last"):
            _check_day(getattr(self, field), field)

    def holds_on(self, day: date) -> bool:
        """Return whether a day lies in the span."""
        at = f"{day:%m-%d}"
        if self.first <= self.last:
            return self.first <= at <= self.last
        return at >= self.first or at <= self.last


@dataclass(frozen=True, kw_only=True)
class PlantLife:
    """What the plants of a zone live through beside the seasons; nothing unless it is given.

    planting_date : the roots grow from there.
    dormant : the plants rest and live on a survival watering.
    overseeded : cool-season grass stands in the turf.
    """

    planting_date: date | None = None
    dormant: YearSpan | None = None
    overseeded: YearSpan | None = None


ORDINARY = PlantLife()


def _check_day(text: str, field: str) -> None:
    try:
        is_day = bool(re.fullmatch(r"\d\d-\d\d", text, re.ASCII))
        date.fromisoformat(f"2000-{text}")
    except ValueError:
        is_day = False
    if not is_day:
        raise InvalidInputError(
            f"'{text}' is no day of the year.",
            field=field, code="day-of-year", remedy="Write month and day, such as 11-15.",
        )  # fmt: skip
