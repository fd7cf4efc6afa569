"""What a zone's plan is made from: the zone as it stands, and the rules that bind its watering."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind, PlantType, SoilTexture
from scheduling.domain import plants, soil
from scheduling.domain.bounds import number_within
from scheduling.domain.dated_rules import DayRules
from scheduling.domain.year_spans import ORDINARY, PlantLife

_ZONE_RANGES: Final = {
    "rate_mm_h": (0.1, 1000.0),
    "assumed_du_lq": (0.05, 1.0),
    "du_lq": (0.0, 1.0),
    "cups": (1, 10_000),
    "area_m2": (0.01, 1e6),
    "latitude_deg": (-90.0, 90.0),
    "quality_factor": (0.1, 1.0),
    "site_factor": (0.3, 1.5),
    "slope_percent": (0.0, 100.0),
    "allowed_depletion": (0.05, 0.95),
    "intake_mm_h": (0.1, 1000.0),
    "accumulation_mm": (0.1, 500.0),
    "available_mm_m": (1.0, 500.0),
    "watering_day_limit_mm": (0.1, 500.0),
    "min_days_between": (1, 31),
    "max_days_between": (1, 31),
}
_RULE_RANGES: Final = {
    "minute_step": (0.1, 60.0),
    "longest_run_min": (0.1, 1440.0),
    "daily_minutes_cap": (0.1, 1440.0),
    "daily_depth_cap_mm": (0.1, 500.0),
    "max_multiplier": (1.0, 2.5),
    "max_cycles": (1, 24),
    "longest_interval_days": (1, 31),
}
# 1.95 is the highest plant factor, 1.5, at the highest density, 1.3.
_MONTHLY_RANGES: Final = {"plant_factors": (0.0, 1.95), "root_depths_mm": (10.0, 5000.0)}


class UniformitySource(StrEnum):
    """What told how evenly a zone waters."""

    CUPS = "cups"
    POOLED_CUPS = "pooled_cups"  # poured together they tell a rate and no uniformity
    EMITTERS = "emitters"
    PUBLISHED = "published"


@dataclass(frozen=True, kw_only=True)
class ZoneFacts:
    """A zone as its plan sees it. None means: take the published value.

    `rate_mm_h` and `du_lq` come from the catch test; `estimated` says that there was none and the
    rate comes from the heads. `assumed_du_lq` is the published uniformity of the head kind.
    `cups` are the cups or, where `by_emitters`, the drip emitters that were caught one by one.
    `mended_on` is the day of a repair since which rate and uniformity were not measured again.
    `plant_factors` and `root_depths_mm` run from January to December.
    """

    rate_mm_h: float
    head_kind: HeadKind
    assumed_du_lq: float
    plant_type: PlantType
    soil_texture: SoilTexture
    latitude_deg: float
    site_factor: float
    quality_factor: float = plants.DEFAULT_QUALITY_FACTOR
    estimated: bool = False
    du_lq: float | None = None
    cups: int | None = None
    pooled: bool = False
    by_emitters: bool = False
    area_m2: float | None = None
    slope_percent: float = 0.0
    plant_factors: tuple[float, ...] | None = None
    root_depths_mm: tuple[float, ...] | None = None
    allowed_depletion: float | None = None
    available_mm_m: float | None = None
    intake_mm_h: float | None = None
    accumulation_mm: float | None = None
    watering_day_limit_mm: float | None = None
    min_days_between: int = 1
    max_days_between: int | None = None
    life: PlantLife = ORDINARY
    mended_on: dt.date | None = None

    @property
    def uniformity_source(self) -> UniformitySource:
        """What told the uniformity that the minutes are lengthened by."""
        if self.pooled:
            return UniformitySource.POOLED_CUPS
        if self.du_lq is None or not self.cups:
            return UniformitySource.PUBLISHED
        return UniformitySource.EMITTERS if self.by_emitters else UniformitySource.CUPS

    def __post_init__(self) -> None:
        _check_ranges(self, _ZONE_RANGES)
        for field, (low, high) in _MONTHLY_RANGES.items():
            _check_months(getattr(self, field), low, high, field)
        if self.max_days_between is not None and self.max_days_between < self.min_days_between:
            raise InvalidInputError(
                "The longest time between waterings is shorter than the shortest.",
                field="max_days_between", code="days-crossed", remedy="Exchange the two.",
            )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class WateringLimits:
    """What the district, the controller and the company allow.

    Weekdays count from Monday = 0. The caps hold for one zone on one day. `max_cycles` is the
    number of starts that the controller's program has for the zone in a day. `by_date` goes before
    weekdays and caps on the dates that it knows.
    """

    allowed_weekdays: frozenset[int] | None = None
    minute_step: float = 1.0
    longest_run_min: float = 240.0  # common practice: four hours
    daily_minutes_cap: float | None = None
    daily_depth_cap_mm: float | None = None
    max_multiplier: float = 1.56  # that of a low-quarter uniformity of 0.40
    max_cycles: int = 4  # common practice
    longest_interval_days: int = 31  # common practice
    by_date: Mapping[dt.date, DayRules] | None = None

    def __post_init__(self) -> None:
        _check_ranges(self, _RULE_RANGES)
        if not (self.allowed_weekdays or frozenset()) <= frozenset(range(7)):
            raise InvalidInputError(
                "There is no such weekday.",
                field="allowed_weekdays", remedy="Count from Monday = 0 to Sunday = 6.",
            )  # fmt: skip

    def allows(self, day: dt.date) -> bool:
        """Return whether the rules let the zone be watered on a date."""
        rules = (self.by_date or {}).get(day)
        if rules is not None:
            return rules.is_allowed
        return self.allowed_weekdays is None or day.weekday() in self.allowed_weekdays

    def on(self, day: dt.date) -> WateringLimits:
        """Return the limits with the caps of a date."""
        rules = (self.by_date or {}).get(day)
        return self if rules is None else self.capped_by(rules)

    def capped_by(self, rules: DayRules) -> WateringLimits:
        """Return the limits with these caps."""
        return replace(
            self, daily_minutes_cap=rules.minutes_cap, daily_depth_cap_mm=rules.depth_cap_mm
        )


def plant_factor_of(zone: ZoneFacts, month: int) -> float:
    """Return the plant factor of the month, 1 to 12."""
    factors = zone.plant_factors or plants.plant_factors(zone.plant_type, zone.latitude_deg)
    return factors[month - 1]


def readily_available_of(zone: ZoneFacts, month: int) -> float:
    """Return the water that the plants may use between two waterings in that month [mm]."""
    depth_mm = plants.default_root_depth_mm(zone.plant_type)
    if zone.root_depths_mm is not None:
        depth_mm = zone.root_depths_mm[month - 1]
    depletion = zone.allowed_depletion or plants.default_allowed_depletion(zone.plant_type)
    available = zone.available_mm_m or soil.soil_facts(zone.soil_texture).available_mm_m
    return float(soil.readily_available_mm(available, depth_mm, depletion))


def intake_of(zone: ZoneFacts) -> float:
    """Return the basic intake of the zone's soil [mm/h]."""
    return zone.intake_mm_h or soil.intake_mm_h(zone.soil_texture)


def accumulation_of(zone: ZoneFacts) -> float:
    """Return what may stand on the zone's surface [mm]."""
    return zone.accumulation_mm or soil.accumulation_mm(zone.soil_texture, zone.slope_percent)


def watering_day_limit_of(zone: ZoneFacts) -> float:
    """Return the most that one watering day may put on the zone [mm], infinite without limit."""
    return zone.watering_day_limit_mm or soil.watering_day_limit_mm(
        zone.soil_texture, zone.slope_percent
    )


def _check_ranges(facts: object, ranges: dict[str, tuple[float, float]]) -> None:
    for field, (low, high) in ranges.items():
        value = getattr(facts, field)
        if value is not None:
            number_within(value, low, high, field=field)


def _check_months(values: tuple[float, ...] | None, low: float, high: float, field: str) -> None:
    if values is None:
        return
    if len(values) != plants.MONTHS:
        raise InvalidInputError(
            f"{field} has {len(values)} values.",
            field=field, code="twelve-months", remedy="Give twelve, January to December.",
        )  # fmt: skip
    for value in values:
        number_within(value, low, high, field=field)
