"""What the weather pictures show: days in a row with depths of water, metric."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.units import System
from reports.domain.formats import counted

MILE_KM: Final = 1.609344  # the international mile


@dataclass(frozen=True)
class DailyDepths:
    """ET0 and rain of days in a row [mm], None where unknown; `filled` days are from neighbours."""

    title: str
    source: str
    system: System
    first_date: date
    et0_mm: tuple[float | None, ...]
    rain_mm: tuple[float | None, ...]
    filled: tuple[bool, ...]

    def __post_init__(self) -> None:
        refuse_unlike(self, ("et0_mm", "rain_mm", "filled"))
        refuse_impossible(self, ("et0_mm", "rain_mm"))


@dataclass(frozen=True)
class StoredWater:
    """What the roots of a zone held on days in a row, and what came in [mm].

    `stored_mm` is the water above the wilting point at the end of each day, of at most
    `capacity_mm`; at or below `limit_mm` the plants have used up what is readily available and
    lack water. `watered_mm` is net, so that it stands beside the store that it enters. Unknown rain
    is None. On `usual` days nobody has the ET0 and the usual one stood in; before `setting_since`
    no setting is known, so that no watering is in the store, and None is none at all.
    """

    title: str
    system: System
    first_date: date
    capacity_mm: float
    limit_mm: float
    stored_mm: tuple[float | None, ...]
    watered_mm: tuple[float | None, ...]
    rain_mm: tuple[float | None, ...]
    usual: tuple[bool, ...]
    setting_since: date | None

    def __post_init__(self) -> None:
        refuse_unlike(self, ("stored_mm", "watered_mm", "rain_mm", "usual"))
        refuse_impossible(self, ("stored_mm", "watered_mm", "rain_mm"))
        if not 0 < self.capacity_mm < math.inf:
            raise InvalidInputError(
                f"Roots cannot hold {self.capacity_mm:g} mm.",
                field="capacity_mm", remedy="Give what they hold, above 0.",
            )  # fmt: skip
        if not 0 <= self.limit_mm <= self.capacity_mm:
            raise InvalidInputError(
                f"A limit of {self.limit_mm:g} mm does not lie within the store.",
                field="limit_mm", remedy=f"Give one from 0 to {self.capacity_mm:g} mm.",
            )  # fmt: skip

    @property
    def unset_days(self) -> int:
        """How many days from the first on have no known setting."""
        days = len(self.stored_mm)
        if self.setting_since is None:
            return days
        return min(max((self.setting_since - self.first_date).days, 0), days)


def source_line(
    station_name: str, distance_km: float, *, filled: int, unknown: int, system: System
) -> str:
    """Return whose weather a picture shows, and of how many days it was not."""
    away = f"{distance_km:.1f} km" if system == "metric" else f"{distance_km / MILE_KM:.1f} miles"
    told = [f"{station_name}, {away} away"]
    if filled:
        told.append(f"{counted(filled, 'day', 'days')} filled in")
    if unknown:
        told.append(f"{counted(unknown, 'day', 'days')} unknown")
    return "; ".join(told)


def refuse_unlike(content: object, names: Sequence[str]) -> None:
    """Refuse columns of different length, and a picture without any day."""
    lengths = {name: len(getattr(content, name)) for name in names}
    if len(set(lengths.values())) != 1 or 0 in lengths.values():
        raise InvalidInputError(
            f"The columns have {', '.join(f'{n} {name}' for name, n in lengths.items())} days.",
            field=names[0], code="length", remedy="Give each column one value a day.",
        )  # fmt: skip


def refuse_impossible(content: object, names: Sequence[str]) -> None:
    """Refuse depths that are negative or no number; an unknown one is None."""
    for name in names:
        for depth in getattr(content, name):
            if depth is not None and not 0 <= depth < math.inf:
                raise InvalidInputError(
                    f"A depth of {depth:g} mm cannot be drawn.",
                    field=name, code="out-of-range",
                    remedy="Give 0 or more, or None where it is unknown.",
                )  # fmt: skip
