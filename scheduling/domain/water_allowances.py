"""What an ordinance, a supplier or a programme grants a landscape.

Allowances are data with their source, because places and years differ. Each is worded in inches,
square feet and gallons, some with a rounded constant that they prescribe; so it is computed in
those and brought to litres once, at the end. Nothing in between is rounded.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from properties.domain.water_budgets import BudgetSpan
from scheduling.domain.bounds import number_within

MOST_ET0_MM: Final = 5000.0
MOST_RAIN_MM: Final = 30_000.0
MOST_AREA_M2: Final = 1e8
MOST_FACTOR: Final = 2.0
_INCH_MM: Final = 25.4
_FOOT_M: Final = 0.3048
_GALLON_L: Final = 3.785411784
EXACT_GALLONS: Final = _INCH_MM * _FOOT_M**2 / _GALLON_L  # of an inch on a square foot


class Method(StrEnum):
    """How the water is put down, as allowances tell methods apart."""

    OVERHEAD = "overhead"
    DRIP = "drip"


@dataclass(frozen=True, kw_only=True)
class AllowanceRule:
    """An allowance: the part of ET0 that ordinary landscape may use, and that special may.

    `rain_part` is the part of the rain that is taken off ET0; `gallons_per_inch_ft2` the constant
    that the rule prescribes, None for the exact one. The efficiencies are those that it lets the
    estimated use be counted with.
    """

    name: str
    factor: float
    overhead_efficiency: float
    drip_efficiency: float
    span: BudgetSpan = BudgetSpan.YEAR
    special_factor: float = 1.0
    rain_part: float = 0.0
    gallons_per_inch_ft2: float | None = None
    key: str = ""

    def __post_init__(self) -> None:
        for name in ("overhead_efficiency", "drip_efficiency"):
            number_within(getattr(self, name), 0.1, 1.0, field=name)
        for name in ("factor", "special_factor"):
            number_within(getattr(self, name), 0.0, MOST_FACTOR, field=name)
        number_within(self.rain_part, 0.0, 1.0, field="rain_part")

    def efficiency(self, method: Method) -> float:
        """Return the irrigation efficiency of a method."""
        return self.drip_efficiency if method is Method.DRIP else self.overhead_efficiency


@dataclass(frozen=True, kw_only=True)
class Landscape:
    """The irrigated areas of a site [m2]: `area_m2` is the whole and includes the special areas.

    Special areas are those that an ordinance lets use all of ET0 (edible plants, recreation,
    recycled water). Leaving them out of the whole is the usual slip of a filled-in form.
    """

    area_m2: float
    special_area_m2: float = 0.0

    def __post_init__(self) -> None:
        number_within(self.area_m2, 0.01, MOST_AREA_M2, field="area_m2")
        number_within(self.special_area_m2, 0.0, MOST_AREA_M2, field="special_area_m2")
        if self.special_area_m2 > self.area_m2:
            raise InvalidInputError(
                "The special areas are larger than the landscape.",
                field="special_area_m2", code="special-over-whole",
                remedy="Give the whole landscape, special areas included, as area_m2.",
            )  # fmt: skip


def net_et0_mm(et0_mm: float, rain_mm: float, rain_part: float) -> float:
    """Return ET0 less the part of the rain that an allowance counts, never below 0 [mm].

    References
    ----------
    California city ordinance text: MAWA with (ETo - Eppt), Eppt = 25 % of annual precipitation.
    """
    et0 = number_within(et0_mm, 0.0, MOST_ET0_MM, field="et0_mm")
    rain = number_within(rain_mm, 0.0, MOST_RAIN_MM, field="rain_mm")
    return max(et0 - number_within(rain_part, 0.0, 1.0, field="rain_part") * rain, 0.0)


def allowance_l(net_et0_mm: float, landscape: Landscape, rule: AllowanceRule) -> float:
    """Return what a rule grants a landscape [L].

    Parameters
    ----------
    net_et0_mm : ET0 of the span [mm], 0 to 5000; less the rain where the rule counts it.
    landscape, rule : see there.

    References
    ----------
    MAWA = ETo x 0.62 x (ETAF x LA + (1 - ETAF) x SLA), LA includes SLA: 23 CCR 492.4 and county
    texts. Factor x ft2 x net ETo x .62: 23 CCR 968. LWA = 0.70 x peak-month ETo x area x 0.6233:
    US EPA WaterSense water budget approach (its constant from memory).
    """
    regular_m2 = landscape.area_m2 - landscape.special_area_m2
    weighted_m2 = rule.factor * regular_m2 + rule.special_factor * landscape.special_area_m2
    return litres_of(net_et0_mm, weighted_m2, rule)


def litres_of(et0_mm: float, weighted_m2: float, rule: AllowanceRule) -> float:
    """Return the water of a depth of ET0 on an area, by the constant that a rule prescribes [L]."""
    et0_in = number_within(et0_mm, 0.0, MOST_ET0_MM, field="et0_mm") / _INCH_MM
    gallons = rule.gallons_per_inch_ft2 or EXACT_GALLONS
    return et0_in * (weighted_m2 / _FOOT_M**2) * gallons * _GALLON_L
