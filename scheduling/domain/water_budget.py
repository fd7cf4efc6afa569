"""What a landscape is allowed to use in a year: the allowances of ordinances and programmes.

Rules are data with their source, because places and years differ. Each ordinance works in inches,
square feet and gallons, with a rounded constant that it prescribes; so it is computed in those and
brought to litres once, at the end. Nothing in between is rounded.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from properties.domain.errors import InvalidInputError
from scheduling.domain.bounds import number_within

_INCH_MM: Final = 25.4
_FOOT_M: Final = 0.3048
_GALLON_L: Final = 3.785411784

ORDINANCE_GAL: Final = 0.62  # gallons of an inch on a square foot, as the ordinance prescribes
PROGRAMME_GAL: Final = 0.6233  # the same in the US EPA water budget approach, from memory
BILLING_UNIT_GAL: Final = 748  # a hundred cubic feet, as the ordinance's example divides
EFFECTIVE_PART_OF_ANNUAL_RAIN: Final = 0.25  # California city ordinance: Eppt
PEAK_MONTH_PART: Final = 0.70  # US EPA WaterSense, revised draft water budget approach, 2009


class LandUse(StrEnum):
    """What the landscape belongs to."""

    RESIDENTIAL = "residential"
    NON_RESIDENTIAL = "non_residential"


class Method(StrEnum):
    """How the water is put down."""

    OVERHEAD = "overhead"
    DRIP = "drip"


@dataclass(frozen=True, kw_only=True)
class AllowanceRule:
    """An ordinance: the part of ET0 that regular landscape may use; special areas may use all."""

    residential: float
    non_residential: float
    source: str

    def factor(self, land_use: LandUse) -> float:
        """Return the ET adjustment factor."""
        residential = land_use is LandUse.RESIDENTIAL
        return self.residential if residential else self.non_residential


STATE_2009: Final = AllowanceRule(
    residential=0.7,
    non_residential=0.7,
    source="California Model Water Efficient Landscape Ordinance 2009, section 492.4",
)
STATE_2015: Final = AllowanceRule(
    residential=0.55, non_residential=0.45, source="23 CCR 492.4 (2015)"
)
STRICTER_COUNTY: Final = AllowanceRule(
    residential=0.42, non_residential=0.42, source="San Diego County regulatory code 87601"
)
EFFICIENCIES: Final = {Method.OVERHEAD: 0.75, Method.DRIP: 0.81}  # 23 CCR 492.4

# 23 CCR 968: what a supplier may count, last day and factor; then the last one.
SUPPLIER_FACTORS: Final = ((dt.date(2035, 6, 30), 0.80), (dt.date(2040, 6, 30), 0.63))
LATER_SUPPLIER_FACTOR: Final = 0.55
NEW_HOME_FACTOR: Final = 0.55
SPECIAL_FACTOR: Final = 1.0


@dataclass(frozen=True, kw_only=True)
class Landscape:
    """The irrigated areas of a site [m2]: `area_m2` is the whole and includes the special areas.

    Special areas are those that an ordinance lets use all of ET0 (edible plants, recreation,
    recycled water). Leaving them out of the whole is the usual slip of a filled-in form.
    """

    area_m2: float
    special_area_m2: float = 0.0
    land_use: LandUse = LandUse.RESIDENTIAL

    def __post_init__(self) -> None:
        number_within(self.area_m2, 0.01, 1e8, field="area_m2")
        number_within(self.special_area_m2, 0.0, 1e8, field="special_area_m2")
        if self.special_area_m2 > self.area_m2:
            raise InvalidInputError(
                "The special areas are larger than the landscape.",
                field="special_area_m2", code="special-over-whole",
                remedy="Give the whole landscape, special areas included, as area_m2.",
            )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Hydrozone:
    """Plants of one water use under one method: plant factor, 0 to 1, and area [m2]."""

    plant_factor: float
    area_m2: float
    method: Method

    def __post_init__(self) -> None:
        number_within(self.plant_factor, 0.0, 1.0, field="plant_factor")
        number_within(self.area_m2, 0.01, 1e8, field="area_m2")


def net_et0_mm(et0_mm: float, annual_rain_mm: float) -> float:
    """Return the ET0 of a year less the quarter of its rain that an ordinance may count [mm].

    References
    ----------
    California city ordinance text: MAWA with (ETo - Eppt), Eppt = 25 % of annual precipitation.
    """
    et0 = number_within(et0_mm, 0.0, 5000.0, field="et0_mm")
    rain = number_within(annual_rain_mm, 0.0, 30_000.0, field="annual_rain_mm")
    return max(et0 - EFFECTIVE_PART_OF_ANNUAL_RAIN * rain, 0.0)


def allowance_l(et0_mm: float, landscape: Landscape, rule: AllowanceRule) -> float:
    """Return the maximum applied water allowance of a year [L].

    Parameters
    ----------
    et0_mm : reference evapotranspiration of the year [mm], 0 to 5000; `net_et0_mm` where rain
        counts.
    landscape, rule : see there.

    References
    ----------
    MAWA = ETo x 0.62 x (ETAF x LA + (1 - ETAF) x SLA), LA includes SLA: 23 CCR 492.4 and county
    texts.
    """
    factor = rule.factor(landscape.land_use)
    weighted_m2 = factor * landscape.area_m2 + (1 - factor) * landscape.special_area_m2
    return _litres(et0_mm, weighted_m2, ORDINANCE_GAL)


def governing_allowance_l(
    et0_mm: float, landscape: Landscape, rules: Sequence[AllowanceRule]
) -> tuple[float, AllowanceRule]:
    """Return the lowest allowance of several rules that all bind [L], and the rule it comes from.

    References
    ----------
    San Diego County regulatory code 87590: the lower of county and supplier allowance governs.
    """
    if not rules:
        raise InvalidInputError("No rule was given.", field="rules", remedy="Give at least one.")
    allowances = [(allowance_l(et0_mm, landscape, rule), rule) for rule in rules]
    return min(allowances, key=lambda pair: pair[0])


def estimated_use_l(
    et0_mm: float, hydrozones: Sequence[Hydrozone], special_area_m2: float = 0.0
) -> float:
    """Return the estimated total water use of a year [L], to set beside the allowance.

    References
    ----------
    ETWU = ETo x 0.62 x (sum of PF x HA / IE, and SLA): 23 CCR 492.4, formula from memory.
    """
    special = number_within(special_area_m2, 0.0, 1e8, field="special_area_m2")
    weighted_m2 = sum(
        zone.plant_factor * zone.area_m2 / EFFICIENCIES[zone.method] for zone in hydrozones
    )
    return _litres(et0_mm, weighted_m2 + special, ORDINANCE_GAL)


def supplier_factor(on: dt.date, *, is_special: bool = False, is_new_home: bool = False) -> float:
    """Return the landscape efficiency factor that a supplier's objective counts with on a day.

    References
    ----------
    23 CCR 968.
    """
    if is_special:
        return SPECIAL_FACTOR
    if is_new_home:
        return NEW_HOME_FACTOR
    for last_day, factor in SUPPLIER_FACTORS:
        if on <= last_day:
            return factor
    return LATER_SUPPLIER_FACTOR


def supplier_budget_l(net_et0_mm: float, area_m2: float, factor: float) -> float:
    """Return what a supplier's objective counts for an area in a year [L].

    References
    ----------
    Factor x ft2 x net ETo x 0.62: 23 CCR 968.
    """
    area = number_within(area_m2, 0.0, 1e12, field="area_m2")
    return _litres(
        net_et0_mm, number_within(factor, 0.0, 1.0, field="factor") * area, ORDINANCE_GAL
    )


def peak_month_baseline_l(peak_et0_mm: float, area_m2: float) -> float:
    """Return what a landscape would use in its peak month at full ET0 [L].

    References
    ----------
    US EPA WaterSense water budget approach: ETo x area x 0.6233.
    """
    area = number_within(area_m2, 0.01, 1e8, field="area_m2")
    return _litres(peak_et0_mm, area, PROGRAMME_GAL)


def peak_month_allowance_l(peak_et0_mm: float, area_m2: float) -> float:
    """Return the landscape water allowance of the peak month: 70 % of the baseline [L]."""
    return PEAK_MONTH_PART * peak_month_baseline_l(peak_et0_mm, area_m2)


def billing_units(volume_l: float) -> int:
    """Return hundreds of cubic feet, to the nearest, as the ordinance's example divides: by 748."""
    volume = number_within(volume_l, 0.0, 1e15, field="volume_l")
    return int(volume / _GALLON_L / BILLING_UNIT_GAL + 0.5)


def _litres(et0_mm: float, weighted_m2: float, gallons_per_inch_foot: float) -> float:
    et0_in = number_within(et0_mm, 0.0, 5000.0, field="et0_mm") / _INCH_MM
    return et0_in * (weighted_m2 / _FOOT_M**2) * gallons_per_inch_foot * _GALLON_L
