"""What a landscape is granted in a year or in its peak month, and what it is estimated to use."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.units import System, dimension, from_canonical, preferred_unit
from properties.domain.water_budgets import BudgetSpan
from scheduling.domain.bounds import number_within
from scheduling.domain.water_allowances import (
    MOST_AREA_M2,
    MOST_FACTOR,
    AllowanceRule,
    Landscape,
    Method,
    allowance_l,
    litres_of,
    net_et0_mm,
)

MONTHS: Final = 12
SPECIAL_USE: Final = 1.0  # special landscape counts with all of ET0: 23 CCR 492.4, from memory
_MONTH_NAMES: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Hydrozone:
    """Plants of one water use under one method: plant factor of each month, and area [m2]."""

    plant_factors: tuple[float, ...]
    area_m2: float
    method: Method
    is_special: bool = False
    key: str = ""

    def __post_init__(self) -> None:
        number_within(self.area_m2, 0.01, MOST_AREA_M2, field="area_m2")
        if len(self.plant_factors) != MONTHS:
            raise InvalidInputError(
                "There is not one plant factor for each month.",
                field="plant_factors", remedy="Give twelve, January to December.",
            )  # fmt: skip
        for factor in self.plant_factors:
            number_within(factor, 0.0, MOST_FACTOR, field="plant_factors")


@dataclass(frozen=True, kw_only=True)
class BudgetYear:
    """Reference evapotranspiration and rain of each month of a year [mm]."""

    et0_mm: tuple[float, ...]
    rain_mm: tuple[float, ...]

    def months(self, span: BudgetSpan) -> tuple[int, ...]:
        """Return the months of a span, January = 0: all, or the first one of the greatest ET0."""
        if span is BudgetSpan.PEAK_MONTH:
            return (self.et0_mm.index(max(self.et0_mm)),)
        return tuple(range(MONTHS))


@dataclass(frozen=True, kw_only=True)
class ZoneShare:
    """What one zone is estimated to use [L], and which part that is of all."""

    zone: Hydrozone
    plant_factor: float
    efficiency: float
    use_l: float
    share: float


@dataclass(frozen=True, kw_only=True)
class WaterBudget:
    """An allowance and the estimated use of its span; `month` is 1 to 12, None of a whole year."""

    rule: AllowanceRule
    month: int | None
    et0_mm: float
    rain_counted_mm: float
    allowance_l: float
    zones: tuple[ZoneShare, ...]

    @property
    def use_l(self) -> float:
        """The estimated use of all zones [L]."""
        return sum(each.use_l for each in self.zones)

    @property
    def over_l(self) -> float:
        """How far the use is over the allowance [L]; negative where it keeps under."""
        return self.use_l - self.allowance_l

    @property
    def over_percent(self) -> float | None:
        """The same in percent of the allowance; None where nothing is allowed."""
        return 100.0 * self.over_l / self.allowance_l if self.allowance_l else None

    def sentence(self, units: System) -> str:
        """Return the comparison as a client understands it."""
        when = f"in {_MONTH_NAMES[self.month - 1]}" if self.month else "in a year"
        name = self.rule.name[0].upper() + self.rule.name[1:]
        granted = f"{name} grants {volume_text(self.allowance_l, units)} {when}"
        use = f"the estimated use is {volume_text(self.use_l, units)}"
        if self.over_percent is None:
            return f"{granted}; {use}."
        # Of the numbers as they are told, so that they add up on paper.
        over = _told(self.use_l, units) - _told(self.allowance_l, units)
        beside = "over" if over > 0 else "under"
        return f"{granted}; {use}, {abs(over):,} ({abs(self.over_percent):.0f} %) {beside} it."


def volume_text(volume_l: float, units: System) -> str:
    """Return a volume such as 36,784 gal or 139,243 L."""
    return f"{_told(volume_l, units):,} {preferred_unit(dimension('volume'), units)}"


def zone_use_l(
    zone: Hydrozone, year: BudgetYear, rule: AllowanceRule, months: Iterable[int]
) -> float:
    """Return what a zone is estimated to use in some months, January = 0 [L].

    References
    ----------
    ETWU = ETo x 0.62 x (sum of PF x HA / IE, and SLA): 23 CCR 492.4, formula from memory.
    """
    efficiency = rule.efficiency(zone.method)
    return sum(
        litres_of(year.et0_mm[month], _use_factor(zone, month, efficiency) * zone.area_m2, rule)
        for month in months
    )


def water_budget(zones: Sequence[Hydrozone], year: BudgetYear, rule: AllowanceRule) -> WaterBudget:
    """Return the allowance of a site under one rule, and its estimated use zone by zone.

    Parameters
    ----------
    zones : all irrigated zones of the site; at least one.
    year : the weather that it is counted with.
    rule : see there.

    Raises
    ------
    InvalidInputError
        Naming `zones`, where there is none.
    """
    if not zones:
        raise InvalidInputError(
            "No zone was given.", field="zones", remedy="Give at least one with its area."
        )
    months = year.months(rule.span)
    et0_mm = sum(year.et0_mm[month] for month in months)
    rain_mm = sum(year.rain_mm[month] for month in months)
    net_mm = net_et0_mm(et0_mm, rain_mm, rule.rain_part)
    return WaterBudget(
        rule=rule,
        month=months[0] + 1 if len(months) == 1 else None,
        et0_mm=et0_mm,
        rain_counted_mm=et0_mm - net_mm,
        allowance_l=allowance_l(net_mm, _landscape(zones), rule),
        zones=_shares(zones, year, rule, months),
    )


def governing(budgets: Sequence[WaterBudget], span: BudgetSpan) -> WaterBudget | None:
    """Return the budget of the lowest allowance of a span; None where none is of it.

    References
    ----------
    San Diego County regulatory code 87590: the lower of county and supplier allowance governs.
    """
    of_span = [each for each in budgets if each.rule.span is span]
    return min(of_span, key=lambda each: each.allowance_l, default=None)


def _told(volume_l: float, units: System) -> int:
    of = dimension("volume")
    return round(from_canonical(volume_l, preferred_unit(of, units), of))


def _landscape(zones: Sequence[Hydrozone]) -> Landscape:
    return Landscape(
        area_m2=sum(zone.area_m2 for zone in zones),
        special_area_m2=sum(zone.area_m2 for zone in zones if zone.is_special),
    )


def _shares(
    zones: Sequence[Hydrozone], year: BudgetYear, rule: AllowanceRule, months: Sequence[int]
) -> tuple[ZoneShare, ...]:
    uses = [zone_use_l(zone, year, rule, months) for zone in zones]
    return tuple(
        ZoneShare(
            zone=zone,
            plant_factor=_mean_factor(zone, year, months),
            efficiency=rule.efficiency(zone.method),
            use_l=use,
            share=use / sum(uses) if sum(uses) else 0.0,
        )
        for zone, use in zip(zones, uses, strict=True)
    )


def _mean_factor(zone: Hydrozone, year: BudgetYear, months: Sequence[int]) -> float:
    """Return the plant factor of several months, each weighed by its ET0."""
    et0_mm = sum(year.et0_mm[month] for month in months)
    if not et0_mm:
        return sum(zone.plant_factors[month] for month in months) / len(months)
    return sum(zone.plant_factors[month] * year.et0_mm[month] for month in months) / et0_mm


def _use_factor(zone: Hydrozone, month: int, efficiency: float) -> float:
    return SPECIAL_USE if zone.is_special else zone.plant_factors[month] / efficiency
