"""How the water of a zone stands to its need: what others tell us, and what follows from it.

Need and record come as values from whoever keeps weather and plans. Without them the answers are
unknown, which is never the same as zero.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from audits.domain.ranges import Range
from audits.domain.supply import Supply, supply_verdict
from properties.domain.errors import InvalidInputError

MONTHS: Final = 12
MONTH: Final = Range("month", "(month of the year)", 1, MONTHS)
# A year that is no leap year: a day of February more moves no figure that is reported.
DAYS_IN_MONTH: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
DAYS_PER_WEEK: Final = 7
# From water that falls evenly to the multiplier of a uniformity of zero.
MULTIPLIER: Final = Range("run-time multiplier", "(as a ratio)", 1.0, 2.5)
# 20 mm a day is more than any garden needs; a program may be set far beyond it.
WEEKLY_NEED_MM: Final = Range("weekly need", "mm", 0.0, 140.0)
WEEKLY_FOUND_MM: Final = Range("weekly depth", "mm", 0.0, 100_000.0)
AREA_M2: Final = Range("area", "m2", 0.0, 1_000_000.0)
RECORD_MM: Final = Range("depth over the weeks", "mm", 0.0, 100_000.0)
RECORD_DAYS: Final = Range("number of days", "days", 0, 3660)

# From these on a record speaks of dry or of wet weeks even where the sums agree (common practice).
STRESS_DAYS: Final = 3
DRAINAGE_SHARE: Final = 0.25


@dataclass(frozen=True)
class MonthlyNeed:
    """What the plants of a zone need in a week of each month, January first [mm], and its source.

    `multiplier`, 1 to 2.5, is how many times that must be put down because the water falls
    unevenly; None is unknown.
    """

    weekly_mm: tuple[float, ...]
    source: str
    multiplier: float | None = 1.0

    def __post_init__(self) -> None:
        if len(self.weekly_mm) != MONTHS:
            raise InvalidInputError(
                f"The need has {len(self.weekly_mm)} months.",
                field="weekly_mm", code="not-twelve-months",
                remedy="Give twelve weekly needs, January first.",
            )  # fmt: skip
        WEEKLY_NEED_MM.numbers(self.weekly_mm, field="weekly_mm")
        if self.multiplier is not None:
            MULTIPLIER.number(self.multiplier, field="multiplier")
        if not self.source.strip():
            raise InvalidInputError(
                "The need does not say where it is from.",
                field="source", code="missing", remedy="Name the weather and the method.",
            )  # fmt: skip

    @property
    def weekly_gross_mm(self) -> tuple[float | None, ...]:
        """Return what must be put down in a week of each month for that need [mm]."""
        return tuple(_times(depth_mm, self.multiplier) for depth_mm in self.weekly_mm)


@dataclass(frozen=True, kw_only=True)
class WaterRecord:
    """What a zone got and needed over past weeks; None is unknown.

    Depths are sums over the `days` of the record [mm]: watering that reached the roots (net), need,
    rain that they could use, what drained below them. `stress_days` were short of water.
    """

    days: int | None = None
    applied_mm: float | None = None
    need_mm: float | None = None
    effective_rain_mm: float | None = None
    drainage_mm: float | None = None
    stress_days: int | None = None

    def __post_init__(self) -> None:
        for field in ("applied_mm", "need_mm", "effective_rain_mm", "drainage_mm"):
            if getattr(self, field) is not None:
                RECORD_MM.number(getattr(self, field), field=field)
        for field in ("days", "stress_days"):
            if getattr(self, field) is not None:
                RECORD_DAYS.whole(getattr(self, field), field=field)
        if self.days is not None and (self.stress_days or 0) > self.days:
            raise InvalidInputError(
                f"{self.stress_days} days of stress do not fit into {self.days} days.",
                field="stress_days", code="more-stress-than-days",
                remedy="Count the days of stress within the record.",
            )  # fmt: skip

    @property
    def supply(self) -> Supply:
        """How water and rain together stand to the need.

        Where the rain is unknown the water alone can prove too much, and nothing else.
        """
        if self.applied_mm is None or self.need_mm is None:
            return Supply.UNKNOWN
        supply = supply_verdict(self.applied_mm + (self.effective_rain_mm or 0.0), self.need_mm)
        if self.effective_rain_mm is None and supply is not Supply.TOO_MUCH:
            return Supply.UNKNOWN
        return supply

    @property
    def had_drainage(self) -> bool | None:
        """Whether much of the water was lost below the roots."""
        if self.drainage_mm is None or not self.need_mm:
            return None
        return self.drainage_mm >= DRAINAGE_SHARE * self.need_mm

    @property
    def had_stress(self) -> bool | None:
        """Whether the plants were short of water on more than a stray day."""
        return None if self.stress_days is None else self.stress_days >= STRESS_DAYS

    @property
    def was_too_wet(self) -> bool | None:
        """Whether sums or drainage show too much; None if unknown or if they contradict."""
        return _shown(self.supply, Supply.TOO_MUCH, Supply.TOO_LITTLE, self.had_drainage)

    @property
    def was_too_dry(self) -> bool | None:
        """Whether sums or stress show too little; None if unknown or if they contradict."""
        return _shown(self.supply, Supply.TOO_LITTLE, Supply.TOO_MUCH, self.had_stress)


@dataclass(frozen=True)
class MonthAgainstNeed:
    """One month: what a week as found puts down and what one needs [mm]; None is unknown.

    `needed_mm` is what the plants need (net), `gross_needed_mm` what must be put down for it. What
    is found was put down, so that only the second can be compared with it.
    """

    month: int
    found_mm: float | None
    needed_mm: float | None
    gross_needed_mm: float | None

    @property
    def difference_mm(self) -> float | None:
        """Return found less gross need in a week [mm]."""
        return _less(self.found_mm, self.gross_needed_mm)

    @property
    def ratio(self) -> float | None:
        """Return found over gross need [-]; a need of zero has none."""
        if self.found_mm is None or not self.gross_needed_mm:
            return None
        return self.found_mm / self.gross_needed_mm

    @property
    def verdict(self) -> Supply:
        """Return the band in which the month lies."""
        return supply_verdict(self.found_mm, self.gross_needed_mm)


@dataclass(frozen=True)
class FoundAgainstNeed:
    """What the program gives as it was found against the need, month by month and in the year.

    Litres are None where program, need or area is unknown. `multiplier` is that of the need.
    """

    months: tuple[MonthAgainstNeed, ...]
    need_source: str | None
    area_m2: float | None
    multiplier: float | None

    @property
    def found_mm_year(self) -> float | None:
        """Return the depth of a year as found [mm]."""
        return _year_mm([month.found_mm for month in self.months])

    @property
    def needed_mm_year(self) -> float | None:
        """Return the depth that the plants need in a year [mm]."""
        return _year_mm([month.needed_mm for month in self.months])

    @property
    def gross_needed_mm_year(self) -> float | None:
        """Return the depth that must be put down in a year [mm]."""
        return _year_mm([month.gross_needed_mm for month in self.months])

    @property
    def found_l_year(self) -> float | None:
        """Return the water of a year as found [L]: 1 mm on 1 m2 is 1 L."""
        return _times(self.found_mm_year, self.area_m2)

    @property
    def needed_l_year(self) -> float | None:
        """Return the water that the plants need in a year [L]."""
        return _times(self.needed_mm_year, self.area_m2)

    @property
    def gross_needed_l_year(self) -> float | None:
        """Return the water that must be put down in a year [L]."""
        return _times(self.gross_needed_mm_year, self.area_m2)

    @property
    def difference_l_year(self) -> float | None:
        """Return the water of a year as found less what must be put down [L]."""
        return _less(self.found_l_year, self.gross_needed_l_year)

    @property
    def verdict(self) -> Supply:
        """Return the band of the year as a whole."""
        return supply_verdict(self.found_mm_year, self.gross_needed_mm_year)

    @property
    def worst_month(self) -> int | None:
        """Return the month whose week misses the need by most; None if unknown or all are right."""
        wrong = [m for m in self.months if m.verdict in (Supply.TOO_LITTLE, Supply.TOO_MUCH)]
        worst = max(wrong, key=lambda m: abs(m.difference_mm or 0.0), default=None)
        return worst.month if worst else None

    def verdict_in(self, month: int | None) -> Supply:
        """Return the band of a month, 1 to 12, or of the year for None."""
        if month is None:
            return self.verdict
        return self.months[MONTH.whole(month, field="month") - 1].verdict


def found_against_need(
    weekly_found_mm: ArrayLike | None, need: MonthlyNeed | None, area_m2: float | None
) -> FoundAgainstNeed:
    """Return how the water of a program as found stands to the need of each month.

    Parameters
    ----------
    weekly_found_mm : depth in a mean week, one for all months or twelve, January first [mm],
        0 to 100 000; None where the program or the rate is unknown. Zero is a known program
        that gives nothing.
    need : the weekly needs, with the multiplier that makes them gross; None is unknown.
    area_m2 : area of the zone [m2], 0 to 1 000 000; None is unknown.

    Raises
    ------
    InvalidInputError
        Code "out-of-range", or "not-twelve-months" for any other count of depths.
    """
    area = None if area_m2 is None else AREA_M2.number(area_m2, field="area_m2")
    needed = need.weekly_mm if need else (None,) * MONTHS
    gross = need.weekly_gross_mm if need else (None,) * MONTHS
    months = zip(_twelve(weekly_found_mm), needed, gross, strict=True)
    return FoundAgainstNeed(
        months=tuple(MonthAgainstNeed(at, *depths) for at, depths in enumerate(months, start=1)),
        need_source=need.source if need else None,
        area_m2=area,
        multiplier=need.multiplier if need else None,
    )


def _twelve(weekly_found_mm: ArrayLike | None) -> list[float] | list[None]:
    if weekly_found_mm is None:
        return [None] * MONTHS
    depths = WEEKLY_FOUND_MM.numbers(weekly_found_mm, field="weekly_found_mm")
    if depths.shape not in ((), (MONTHS,)):
        raise InvalidInputError(
            f"The program has {depths.size} weekly depths.",
            field="weekly_found_mm", code="not-twelve-months",
            remedy="Give one depth for all months, or twelve, January first.",
        )  # fmt: skip
    twelve: list[float] = np.broadcast_to(depths, MONTHS).tolist()
    return twelve


def _year_mm(weekly_mm: list[float | None]) -> float | None:
    known = [depth for depth in weekly_mm if depth is not None]
    if len(known) < MONTHS:
        return None
    return sum(d * days / DAYS_PER_WEEK for d, days in zip(known, DAYS_IN_MONTH, strict=True))


def _times(depth_mm: float | None, factor: float | None) -> float | None:
    return None if depth_mm is None or factor is None else depth_mm * factor


def _less(found: float | None, needed: float | None) -> float | None:
    return None if found is None or needed is None else found - needed


def _shown(supply: Supply, cause: Supply, contrary: Supply, trace: bool | None) -> bool | None:
    """Tell whether sums or a trace (drainage, stress) show the cause."""
    if supply is cause:
        return True
    if trace:
        return None if supply is contrary else True
    return trace if supply is Supply.UNKNOWN else False
