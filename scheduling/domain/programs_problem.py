"""What a fit is asked: what the controller can do, what the rules allow, what the zones need."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within
from scheduling.domain.intervals import EVERY_DAY, WEEK
from scheduling.domain.programs_patterns import (
    DayPattern,
    check_parity,
    interval_patterns,
    parity_patterns,
    weekday_patterns,
)

MIN_PER_DAY: Final = 24 * 60
MOST_ZONES: Final = 200
LIGHTEST, HEAVIEST = 0.5, 4.0


class ZoneKind(StrEnum):
    """What waters a zone; the two never share a program of a controller that has a second one."""

    SPRINKLER = "sprinkler"
    DRIP = "drip"


@dataclass(frozen=True, kw_only=True)
class ControllerAbility:
    """What a controller can do. Starts are set to the minute; it runs one zone at a time.

    `interval_days` is the longest "every so many days" that it can be set to, 0 where it cannot.
    """

    programs: int = 3
    starts_per_program: int = 4
    minute_step: int = 1
    shortest_run_min: int = 1
    longest_run_min: int = 240
    can_weekdays: bool = True
    interval_days: int = 31
    can_odd_even: bool = False
    percent_range: tuple[int, int] = (10, 100)
    percent_step: int = 10

    def __post_init__(self) -> None:
        _whole(self.programs, 1, 12, field="programs")
        _whole(self.starts_per_program, 1, 24, field="starts_per_program")
        _whole(self.minute_step, 1, 60, field="minute_step")
        _whole(self.longest_run_min, 1, MIN_PER_DAY, field="longest_run_min")
        _whole(self.shortest_run_min, 1, self.longest_run_min, field="shortest_run_min")
        _whole(self.interval_days, 0, 31, field="interval_days")
        _whole(self.percent_step, 1, 100, field="percent_step")
        low, high = self.percent_range
        _whole(low, 0, 100, field="percent_range")
        _whole(high, 100, 300, field="percent_range")
        if not (self.can_weekdays or self.interval_days or self.can_odd_even):
            raise InvalidInputError(
                "The controller can run on no day.",
                field="can_weekdays", remedy="Say which day patterns it can do.",
            )  # fmt: skip

    def patterns(self) -> Iterator[DayPattern]:
        """Yield every day pattern that it can be set to."""
        if self.can_weekdays:
            yield from weekday_patterns(EVERY_DAY)
        yield from interval_patterns(self.interval_days)
        if self.can_odd_even:
            yield from parity_patterns()


@dataclass(frozen=True)
class HourWindow:
    """Hours in which water may run [min of the day]; they pass midnight where they close early.

    A window that passes midnight speaks of calendar days: what runs after midnight needs that day
    to be allowed too.
    """

    opens_min: int
    closes_min: int

    def __post_init__(self) -> None:
        _whole(self.opens_min, 0, MIN_PER_DAY - 1, field="opens_min")
        _whole(self.closes_min, 0, MIN_PER_DAY, field="closes_min")
        if self.opens_min == self.closes_min:
            raise InvalidInputError(
                "The window closes when it opens.",
                field="closes_min", remedy="For the whole day give 0 and 1440.",
            )  # fmt: skip

    def spans(self) -> list[tuple[int, int]]:
        """Return its parts of one calendar day [min]."""
        if self.opens_min < self.closes_min:
            return [(self.opens_min, self.closes_min)]
        return [(0, self.closes_min), (self.opens_min, MIN_PER_DAY)]


def _whole_day() -> tuple[HourWindow, ...]:
    return (HourWindow(0, MIN_PER_DAY),)


@dataclass(frozen=True, kw_only=True)
class ProgramRules:
    """What the district allows a kind of zone: days, hours, and caps for a zone on a day.

    No weekday or no window at all is a ban: nothing is fitted and the fit says so.
    """

    allowed_weekdays: frozenset[int] = EVERY_DAY
    allowed_parity: str | None = None
    windows: tuple[HourWindow, ...] = field(default_factory=_whole_day)
    daily_minutes_cap: float | None = None
    daily_depth_cap_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.allowed_weekdays <= EVERY_DAY:
            raise InvalidInputError(
                "There is no such weekday.",
                field="allowed_weekdays", remedy="Count from Monday = 0 to Sunday = 6.",
            )  # fmt: skip
        check_parity(self.allowed_parity, field="allowed_parity")
        _optional(self.daily_minutes_cap, 0.1, MIN_PER_DAY, field="daily_minutes_cap")
        _optional(self.daily_depth_cap_mm, 0.1, 500.0, field="daily_depth_cap_mm")

    def minutes(self) -> frozenset[int]:
        """Return the allowed minutes of a calendar day."""
        spans = [span for window in self.windows for span in window.spans()]
        return frozenset(minute for low, high in spans for minute in range(low, high))


@dataclass(frozen=True, kw_only=True)
class ZoneNeed:
    """A zone as the fit sees it; all depths are gross, as they fall.

    `store_mm` is what the roots take of one watering (readily available water x multiplier), and
    `longest_gap_days` how long they may wait; None is no limit. `day_limit_mm` is the soil's limit
    for a watering day. `weight` None takes the rule of `zone_weight`.
    """

    zone_id: Hashable
    need_mm_week: float
    rate_mm_h: float
    kind: ZoneKind = ZoneKind.SPRINKLER
    longest_cycle_min: float = math.inf
    soak_min: float = 0.0
    day_limit_mm: float = math.inf
    store_mm: float | None = None
    longest_gap_days: int | None = None
    weight: float | None = None
    area_m2: float | None = None
    flow_l_min: float | None = None

    def __post_init__(self) -> None:
        number_within(self.need_mm_week, 0.0, 1000.0, field="need_mm_week")
        number_within(self.rate_mm_h, 0.1, 1000.0, field="rate_mm_h")
        number_within(self.longest_cycle_min, 0.0, math.inf, field="longest_cycle_min")
        number_within(self.soak_min, 0.0, MIN_PER_DAY, field="soak_min")
        number_within(self.day_limit_mm, 0.1, math.inf, field="day_limit_mm")
        _optional(self.store_mm, 0.1, 1000.0, field="store_mm")
        _optional(self.longest_gap_days, 1, 31, field="longest_gap_days")
        _optional(self.weight, 0.01, 100.0, field="weight")
        _optional(self.area_m2, 0.01, 1e6, field="area_m2")
        _optional(self.flow_l_min, 0.01, 1e5, field="flow_l_min")

    @property
    def lasts_days(self) -> float:
        """How long the roots last before the plants suffer [d]."""
        if self.need_mm_week == 0:
            return math.inf
        store_days = math.inf if self.store_mm is None else WEEK * self.store_mm / self.need_mm_week
        return min(store_days, self.longest_gap_days or math.inf)

    @property
    def ruling_weight(self) -> float:
        """The weight as given, else by the rule."""
        return zone_weight(self) if self.weight is None else self.weight


@dataclass(frozen=True, kw_only=True)
class ControllerTask:
    """One controller, its zones, and the rules; `drip_rules` None means that drip has no others."""

    ability: ControllerAbility
    zones: tuple[ZoneNeed, ...]
    rules: ProgramRules
    drip_rules: ProgramRules | None = None
    name: str = ""

    def __post_init__(self) -> None:
        if not 1 <= len(self.zones) <= MOST_ZONES:
            raise InvalidInputError(
                f"A controller with {len(self.zones)} zones cannot be fitted.",
                field="zones", remedy=f"Give 1 to {MOST_ZONES} zones.",
            )  # fmt: skip
        ids = [zone.zone_id for zone in self.zones]
        if len(set(ids)) != len(ids):
            raise InvalidInputError(
                "A zone is given twice.", field="zones", remedy="Give each zone once."
            )

    def rules_for(self, kind: ZoneKind) -> ProgramRules:
        """Return the rules that bind a kind of zone."""
        return self.drip_rules if kind is ZoneKind.DRIP and self.drip_rules else self.rules


def zone_weight(zone: ZoneNeed) -> float:
    """Return how much a missing or needless millimetre of a zone counts.

    A week over the days that the roots last: thirsty and shallow zones weigh more. From 0.5 (two
    weeks and longer) to 4; 1 where nothing is known of the roots.

    References
    ----------
    Our own rule, not a published one.
    """
    if math.isinf(zone.lasts_days):
        return 1.0
    return min(max(WEEK / zone.lasts_days, LIGHTEST), HEAVIEST)


def check_supply(tasks: Sequence[ControllerTask], supply_l_min: float | None) -> None:
    """Refuse zones of unknown flow on a shared supply, and those that it cannot feed."""
    if supply_l_min is None:
        return
    number_within(supply_l_min, 0.01, 1e5, field="supply_l_min")
    for zone in (zone for task in tasks for zone in task.zones):
        if zone.flow_l_min is None:
            raise InvalidInputError(
                f"The flow of zone {zone.zone_id} is not known.",
                field="flow_l_min", remedy="Meter the zone, or add up its nozzles.",
            )  # fmt: skip
        if zone.flow_l_min > supply_l_min:
            raise InvalidInputError(
                f"Zone {zone.zone_id} takes more than the supply gives.",
                field="flow_l_min", remedy="Divide the zone, or fit nozzles of a lower flow.",
            )  # fmt: skip


def _whole(value: int, low: int, high: int, *, field: str) -> None:
    if value != int(number_within(value, low, high, field=field)):
        raise InvalidInputError(
            f"{field} is {value:g}, not a whole number.",
            field=field, remedy="Give a whole number.",
        )  # fmt: skip


def _optional(value: float | None, low: float, high: float, *, field: str) -> None:
    if value is not None:
        number_within(value, low, high, field=field)
