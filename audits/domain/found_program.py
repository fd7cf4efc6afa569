"""What a controller was found set to, and how much water that is in a week."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import time
from typing import Final

from audits.domain.ranges import RATE_MM_H, Range
from properties.domain.errors import InvalidInputError

DAYS_PER_WEEK: Final = 7
RUN_MIN: Final = Range("run time", "min", 0.0, 24 * 60.0)
# Common practice: controllers skip up to a month, and few scale beyond twofold.
INTERVAL_DAYS: Final = Range("interval", "days", 1, 31)
SEASONAL_PERCENT: Final = Range("seasonal percentage", "%", 0.0, 300.0)


@dataclass(frozen=True, kw_only=True)
class FoundProgram:
    """One program of a controller as found: its days, its starts and the minutes of its zones.

    Exactly one of `weekdays` (0 = Monday to 6) and `interval_days` (every so many days, 1 to 31)
    is set. Each start runs all zones; `zone_minutes` pairs a zone id with minutes [min] before
    the seasonal percentage. `name` is what the controller calls the program.
    """

    start_times: tuple[time, ...]
    zone_minutes: tuple[tuple[Hashable, float], ...]
    weekdays: frozenset[int] | None = None
    interval_days: int | None = None
    name: str = ""

    def __post_init__(self) -> None:
        self._check_days()
        self._check_starts()
        self._check_zones()

    @property
    def waterings_per_week(self) -> float:
        """Return on how many days of a mean week the program runs."""
        if self.interval_days is not None:
            return DAYS_PER_WEEK / self.interval_days
        return len(self.weekdays or ())

    @property
    def total_min(self) -> float:
        """Return how long one start runs all zones in turn, at 100 percent [min]."""
        return sum(minutes for _, minutes in self.zone_minutes)

    def minutes_of(self, zone_id: Hashable) -> float:
        """Return how long one start runs a zone at 100 percent [min]; 0 for a foreign zone."""
        return dict(self.zone_minutes).get(zone_id, 0.0)

    def weekly_run_min(self, zone_id: Hashable) -> float:
        """Return the minutes of a zone in a mean week at 100 percent; 0 for a foreign zone."""
        return self.waterings_per_week * len(self.start_times) * self.minutes_of(zone_id)

    def _check_days(self) -> None:
        if (self.weekdays is None) == (self.interval_days is None):
            raise InvalidInputError(
                "A program runs either on weekdays or every so many days.",
                field="weekdays", code="ambiguous-days", remedy="Give exactly one of the two.",
            )  # fmt: skip
        if self.interval_days is not None:
            INTERVAL_DAYS.whole(self.interval_days, field="interval_days")
        elif not self.weekdays or not self.weekdays <= set(range(DAYS_PER_WEEK)):
            raise InvalidInputError(
                "The program has no day, or a day that no week has.",
                field="weekdays", code="bad-days",
                remedy="Give days from 0 (Monday) to 6, or leave the program out.",
            )  # fmt: skip

    def _check_starts(self) -> None:
        if not self.start_times or len(set(self.start_times)) < len(self.start_times):
            raise InvalidInputError(
                "The program has no start, or the same start twice.",
                field="start_times", code="bad-starts",
                remedy="Give each start once, or leave the program out.",
            )  # fmt: skip

    def _check_zones(self) -> None:
        if len(dict(self.zone_minutes)) < len(self.zone_minutes):
            raise InvalidInputError(
                "A zone stands twice in the program.",
                field="zone_minutes", code="zone-twice", remedy="Give each zone once.",
            )  # fmt: skip
        RUN_MIN.numbers([minutes for _, minutes in self.zone_minutes], field="zone_minutes")


def weekly_minutes(
    programs: Iterable[FoundProgram], zone_id: Hashable, seasonal_percent: float
) -> float:
    """Return how long a zone runs in a mean week, over all programs of its controller.

    Parameters
    ----------
    programs : every program of the controller, leftover ones too.
    zone_id : the zone; one that no program names runs 0 minutes.
    seasonal_percent : the controller's seasonal adjustment [%], 0 to 300.

    Returns
    -------
    minutes [min]: waterings a week x starts x minutes x percent, summed over the programs. Starts
    that overlap are counted in full, as controllers that queue them would run them.
    """
    percent = SEASONAL_PERCENT.number(seasonal_percent, field="seasonal_percent")
    return sum(program.weekly_run_min(zone_id) for program in programs) * percent / 100.0


def weekly_depth_mm(
    programs: Iterable[FoundProgram], zone_id: Hashable, seasonal_percent: float, rate_mm_h: float
) -> float:
    """Return the depth of water that a zone gets in a mean week [mm].

    Parameters
    ----------
    programs, zone_id, seasonal_percent : as in `weekly_minutes`.
    rate_mm_h : the rate of the zone, measured or nominal [mm/h], 0 to 1000.
    """
    rate = RATE_MM_H.number(rate_mm_h, field="rate_mm_h")
    return weekly_minutes(programs, zone_id, seasonal_percent) / 60.0 * rate
