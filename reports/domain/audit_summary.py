"""What the audit summary says, before anyone decides how it looks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from properties.domain.errors import InvalidInputError
from properties.domain.site import HeadKind, PlantType, SoilTexture
from properties.domain.units import System
from reports.domain.cautions import Caution


class Severity(StrEnum):
    """How long a repair can wait."""

    AT_ONCE = "at once"
    THIS_SEASON = "this season"
    WHEN_CONVENIENT = "when convenient"


@dataclass(frozen=True, kw_only=True)
class Cup:
    """One cup of a test: its catch [mm] and, if drawn in, where it stood [m, any origin]."""

    depth_mm: float
    x_m: float | None = None
    y_m: float | None = None

    def __post_init__(self) -> None:
        if (self.x_m is None) != (self.y_m is None):
            raise InvalidInputError(
                "A cup has only one of its two coordinates.",
                field="cups_detail", code="half-a-place", remedy="Give x and y, or neither.",
            )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ZoneSummary:
    """One zone: what stands in it, what was measured there and what that means.

    `found_weekly_mm` is what the program gives it as it was found, `needed_weekly_mm` what its
    plants need in the hottest month, and `margin` by which unevenness multiplies that. None is
    "unknown" throughout; `du_lq`, `du_lh` and `cu` are fractions; `rate_interval_mm_h` is the 90 %
    interval. A pooled test gives a rate and no uniformity; an estimated zone has no valid test at
    all.
    """

    number: int
    name: str
    head_kind: HeadKind
    plant: PlantType
    soil: SoilTexture
    area_m2: float | None
    rate_mm_h: float | None = None
    rate_interval_mm_h: tuple[float, float] | None = None
    du_lq: float | None = None
    du_lh: float | None = None
    cu: float | None = None
    cups: int = 0
    pooled: bool = False
    estimated: bool = False
    rating: str = ""
    cups_detail: tuple[Cup, ...] = ()
    found_weekly_mm: float | None = None
    needed_weekly_mm: float | None = None
    margin: float = 1.0
    meaning: str = ""
    advice: tuple[str, ...] = ()

    @property
    def supply_ratio(self) -> float | None:
        """What the program gives over what is to be put down [-]; None if either is unknown."""
        if self.found_weekly_mm is None or not self.needed_weekly_mm:
            return None
        return self.found_weekly_mm / (self.needed_weekly_mm * self.margin)


@dataclass(frozen=True, kw_only=True)
class Mend:
    """One repair: where (None: the whole system), what, how soon, and the evidence for it.

    The first sentence of `what` names the fault or the job, the rest says how to go about it.
    """

    zone: int | None
    what: str
    severity: Severity
    evidence: str
    done_on_the_spot: bool = False

    @property
    def label(self) -> str:
        name, stop, _ = self.what.partition(". ")
        return name + stop.strip()

    @property
    def details(self) -> str:
        return self.what.partition(". ")[2]


@dataclass(frozen=True, kw_only=True)
class MonthSetting:
    """What to set in one month.

    `days_between` is None when nothing is to be watered. `minutes` is the run time of a watering
    day, in `cycles` runs of `cycle_min` with `soak_min` between. `weekly_mm` is what that puts down
    in a week, `needed_mm` what the plants need in a week.
    """

    month: int
    days_between: int | None
    minutes: float = 0.0
    cycles: int = 1
    cycle_min: float = 0.0
    soak_min: float = 0.0
    weekly_mm: float = 0.0
    needed_mm: float = 0.0
    estimated: bool = False


@dataclass(frozen=True, kw_only=True)
class ZoneSeason:
    """The twelve months of one zone, January first."""

    zone: int
    months: tuple[MonthSetting, ...]

    def __post_init__(self) -> None:
        if [setting.month for setting in self.months] != list(range(1, 13)):
            raise InvalidInputError(
                f"The season of zone {self.zone} is not January to December.",
                field="season", code="not-twelve-months", remedy="Give the twelve months in order.",
            )  # fmt: skip

    @property
    def is_estimated(self) -> bool:
        return any(setting.estimated for setting in self.months)

    @property
    def has_rest(self) -> bool:
        """Whether there is a month in which nothing is to be watered."""
        return any(setting.days_between is None for setting in self.months)

    @property
    def longest_soak_min(self) -> float:
        """The longest soak of the year [min]: one figure to remember, and never too short."""
        return max(setting.soak_min if setting.cycles > 1 else 0.0 for setting in self.months)


@dataclass(frozen=True, kw_only=True)
class WeatherNote:
    """Where the need of the plants comes from."""

    station: str
    first_year: int
    last_year: int


@dataclass(frozen=True, kw_only=True)
class AuditSummary:
    """The whole content of the document; equal content gives equal bytes."""

    company_name: str
    company_contact: str
    customer_name: str
    property_name: str
    address_lines: tuple[str, ...]
    visit_date: date
    technician_name: str
    system: System
    headline: str
    hottest_month: int
    zones: tuple[ZoneSummary, ...]
    mends: tuple[Mend, ...]
    season: tuple[ZoneSeason, ...]
    cautions: tuple[Caution, ...]
    method_notes: tuple[str, ...]
    weather: WeatherNote | None = None
    rain_rule: str = ""
    revision: int = 1

    def __post_init__(self) -> None:
        numbers = [zone.number for zone in self.zones]
        if len(set(numbers)) != len(numbers):
            raise InvalidInputError(
                "Two zones have the same number.",
                field="zones", code="twice-the-same", remedy="Number each zone once.",
            )  # fmt: skip
        strangers = {season.zone for season in self.season} - set(numbers)
        if strangers:
            raise InvalidInputError(
                f"The season names zone {min(strangers)}, which the summary does not hold.",
                field="season", code="unknown-zone", remedy="Leave it out, or add the zone.",
            )  # fmt: skip

    def zone(self, number: int) -> ZoneSummary:
        """Return the zone of that number."""
        return next(zone for zone in self.zones if zone.number == number)

    @property
    def drawn_zones(self) -> tuple[ZoneSummary, ...]:
        """The zones whose cups were read one by one, so that they can be drawn."""
        return tuple(zone for zone in self.zones if zone.cups_detail)


def driest_quarter(depths_mm: Sequence[float]) -> frozenset[int]:
    """Return the places of the cups that make up the low quarter.

    The quarter of n cups is n/4 rounded half up, at least one; among equals the earlier cup counts.
    """
    size = max(1, math.floor(len(depths_mm) / 4 + 0.5))
    ranked = sorted(range(len(depths_mm)), key=lambda place: depths_mm[place])
    return frozenset(ranked[:size])
