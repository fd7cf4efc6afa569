"""The rule for rain in words: after so much in a day, how long to skip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from properties.domain.units import System
from reports.domain.formats import counted, month_name, quantity


@dataclass(frozen=True)
class ZoneRainSkip:
    """After `rain_mm` in one day the zone can go `days` days without water."""

    zone: int
    rain_mm: float
    days: int


def rain_rule(skips: Sequence[ZoneRainSkip], *, month: int, system: System) -> str:
    """Return the rule of one month, zones that skip equally long together; "" without any.

    Of several zones the rain of the thirstiest counts, so that none runs dry.
    """
    parts = [_part([skip for skip in skips if skip.days == days], system) for days in _days(skips)]
    return f"In {month_name(month)}, {'; '.join(parts)}." if parts else ""


def _days(skips: Sequence[ZoneRainSkip]) -> list[int]:
    return sorted({skip.days for skip in skips})


def _part(alike: Sequence[ZoneRainSkip], system: System) -> str:
    rain = quantity(max(skip.rain_mm for skip in alike), "depth", system)
    numbers = [str(skip.zone) for skip in alike]
    zones = f"zone {numbers[0]}" if len(numbers) == 1 else f"zones {_listed(numbers)}"
    return f"after {rain} in a day skip {counted(alike[0].days, 'day', 'days')} ({zones})"


def _listed(numbers: Sequence[str]) -> str:
    return f"{', '.join(numbers[:-1])} and {numbers[-1]}"
