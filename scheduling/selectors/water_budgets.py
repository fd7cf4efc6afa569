"""What a property is granted in a year, against what its zones are estimated to use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from properties.domain.site import HeadKind
from properties.domain.units import System
from properties.domain.water_budgets import BudgetSpan
from properties.domain.watering_rules_words import day_text, joined
from properties.models import Property, WaterBudget, WateringDistrict, WaterSource, Zone
from scheduling.domain.climate import MONTH_DAYS, Climate
from scheduling.domain.water_allowances import AllowanceRule, Method
from scheduling.domain.water_budget import (
    BudgetYear,
    Hydrozone,
    governing,
    volume_text,
    water_budget,
)
from scheduling.domain.water_budget import WaterBudget as Budget
from scheduling.models import WeatherStation
from scheduling.selectors.property_weather import PropertyWeather, weather_of_property
from scheduling.selectors.seasons import PropertySeason, property_season
from scheduling.selectors.zone_facts import plant_factors_of

DRIP_KINDS: Final = frozenset({HeadKind.DRIP, HeadKind.BUBBLER})  # low-volume: common practice


@dataclass(frozen=True, kw_only=True)
class BudgetWeather:
    """The year that was counted with: measured where all its days are known, else the usual one."""

    station: WeatherStation
    year: BudgetYear
    is_measured: bool
    first_date: date
    last_date: date
    years_used: int
    days_filled: int


@dataclass(frozen=True, kw_only=True)
class PropertyBudget:
    """The allowances that bind a property; `rules_on` is the day by which they were chosen.

    `unmeasured` are zones whose area is not known: they stand on neither side.
    """

    property_: Property
    year: int
    rules_on: date
    rows: tuple[WaterBudget, ...] = ()
    budgets: tuple[Budget, ...] = ()
    weather: BudgetWeather | None = None
    zones: tuple[Zone, ...] = ()
    unmeasured: tuple[Zone, ...] = ()
    season: PropertySeason | None = None

    @property
    def district(self) -> WateringDistrict | None:
        """The district whose allowances were looked for."""
        return self.property_.watering_district

    @property
    def plan_l(self) -> float | None:
        """What the plan puts down in a usual year before any rain [L]."""
        return self.season.litres if self.season else None

    def governs(self, budget: Budget) -> bool:
        """Return whether an allowance is the strictest of its span."""
        return governing(self.budgets, budget.rule.span) is budget

    def sentence(self, units: System) -> str:
        """Return what to tell of the year, or why there is nothing to tell and its cure."""
        if self.district is None:
            return (
                "No watering district is known for this address, so it has no water budget. "
                "Put the property in its district."
            )
        if not self.rows:
            kind = self.property_.property_class.replace("_", " ")
            return (
                f"{self.district} has no water budget for {kind} properties on "
                f"{day_text(self.rules_on)}. Enter it with the district if there is one."
            )
        if not self.budgets:
            return f"No water budget can be counted.{self._left_out()}"
        told = (governing(self.budgets, span) for span in BudgetSpan)
        return " ".join(each.sentence(units) for each in told if each) + self._left_out()

    def plan_sentence(self, units: System) -> str:
        """Return what the plan takes of the year, beside the allowance of it."""
        litres = self.plan_l
        if self.season is None or litres is None:
            return "No zone has a plan with litres."
        without = [each.zone for each in self.season.zones if not (each.plan and each.plan.litres)]
        left_out = f", without {_named(without)}" if without else ""
        plan = f"The plan puts down {volume_text(litres, units)} in a usual year, before any rain"
        year = governing(self.budgets, BudgetSpan.YEAR)
        if year is None or not year.allowance_l:
            return f"{plan}{left_out}."
        part = 100.0 * litres / year.allowance_l
        return f"{plan}: {part:.0f} % of what {year.rule.name} grants{left_out}."

    def _left_out(self) -> str:
        if not self.zones and not self.unmeasured:
            return " The property has no active zone: enter its zones."
        if not self.unmeasured:
            return ""
        return f" Left out for want of an area: {_named(self.unmeasured)}. Measure and enter it."


def property_budget(property_: Property, year: int, today: date) -> PropertyBudget:
    """Return the allowances of a property in a year and the use that is estimated beside them.

    1. The rules are those in force on the day of the year that is nearest to today.
    2. The weather is that of the year itself once it is over and known whole; else the usual year.
    3. Each zone counts with its area, its plant factors and the efficiency of its heads.

    However many zones there are, the number of queries is the same.
    """
    rules_on = min(max(today, date(year, 1, 1)), date(year, 12, 31))
    rows = _rows_of(property_, rules_on)
    if not rows:
        return PropertyBudget(property_=property_, year=year, rules_on=rules_on)
    season = property_season(property_, today)
    weather = _weather(property_, season, year, today)
    zones = [each.zone for each in season.zones]
    measured = [zone for zone in zones if zone.area_m2 is not None]
    hydrozones = [_hydrozone(zone, property_, season.station) for zone in measured]
    return PropertyBudget(
        property_=property_,
        year=year,
        rules_on=rules_on,
        rows=rows,
        budgets=tuple(
            water_budget(hydrozones, weather.year, _rule_of(row)) for row in rows if hydrozones
        ),
        weather=weather,
        zones=tuple(measured),
        unmeasured=tuple(zone for zone in zones if zone.area_m2 is None),
        season=season,
    )


def _rows_of(property_: Property, on: date) -> tuple[WaterBudget, ...]:
    if property_.watering_district_id is None:
        return ()
    rows = WaterBudget.objects.filter(district=property_.watering_district_id)
    return tuple(row for row in rows if row.binds(property_.property_class, on))


def _rule_of(row: WaterBudget) -> AllowanceRule:
    return AllowanceRule(
        name=row.name,
        factor=row.factor,
        special_factor=row.special_factor,
        rain_part=row.rain_part,
        gallons_per_inch_ft2=row.gallons_per_inch_ft2,
        overhead_efficiency=row.overhead_efficiency,
        drip_efficiency=row.drip_efficiency,
        span=BudgetSpan(row.span),
        key=str(row.pk),
    )


def _hydrozone(zone: Zone, property_: Property, station: WeatherStation) -> Hydrozone:
    assert zone.area_m2 is not None
    is_reuse = property_.water_source == WaterSource.RECLAIMED
    return Hydrozone(
        plant_factors=plant_factors_of(zone, station.latitude),
        area_m2=zone.area_m2,
        method=Method.DRIP if zone.head_kind in DRIP_KINDS else Method.OVERHEAD,
        is_special=zone.is_special_landscape or is_reuse,
        key=str(zone.pk),
    )


def _weather(property_: Property, season: PropertySeason, year: int, today: date) -> BudgetWeather:
    measured = _measured_year(property_, season.station, year) if year < today.year else None
    return measured or _usual_year(season.station, season.climate)


def _measured_year(property_: Property, station: WeatherStation, year: int) -> BudgetWeather | None:
    """Return a year that is over, None where a day of it is known neither here nor nearby."""
    weather = weather_of_property(property_, date(year, 1, 1), date(year, 12, 31))
    if weather.gaps.days_missing:
        return None
    return BudgetWeather(
        station=station,
        year=BudgetYear(
            et0_mm=_month_totals(weather, "et0_mm"), rain_mm=_month_totals(weather, "rain_mm")
        ),
        is_measured=True,
        first_date=weather.gaps.first_date,
        last_date=weather.gaps.last_date,
        years_used=1,
        days_filled=weather.gaps.days_filled,
    )


def _usual_year(station: WeatherStation, climate: Climate) -> BudgetWeather:
    et0 = zip(climate.et0_mm_day, MONTH_DAYS, strict=True)
    return BudgetWeather(
        station=station,
        year=BudgetYear(et0_mm=tuple(a * days for a, days in et0), rain_mm=climate.rain_mm),
        is_measured=False,
        first_date=climate.first_date,
        last_date=climate.last_date,
        years_used=climate.years_used,
        days_filled=0,
    )


def _month_totals(weather: PropertyWeather, name: str) -> tuple[float, ...]:
    months = weather.dates.astype("datetime64[M]").astype(np.int64) % 12
    totals = np.bincount(months, weights=weather.series[name].values, minlength=12)
    return tuple(totals.tolist())


def _named(zones: Sequence[Zone]) -> str:
    return joined([f"zone {zone}" for zone in zones])
