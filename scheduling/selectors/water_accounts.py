"""The water account of a zone over its last days: weather, the setting that runs, what roots held.

Waterings are assumed from the controller's settings, for nobody saw them run. The store is taken as
full on the first day; a soaking rain, or some weeks of account, make that matter little.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from audits.models import ProgramSetting
from audits.selectors.program_settings import found_program, with_programs
from audits.selectors.zones import ruling_tests
from properties.models import Zone
from scheduling.domain.margin import run_time_margin
from scheduling.domain.program_waterings import DatedWaterings, Surface, dated_waterings
from scheduling.domain.usual_weather import WholeDays, usual_et0_mm, whole_days
from scheduling.domain.water_columns import Array
from scheduling.domain.water_scores import can_be_scored, scores
from scheduling.domain.zone_account import ZoneWater, zone_water
from scheduling.domain.zone_facts import ZoneFacts, accumulation_of, intake_of
from scheduling.selectors.measured_zones import mended_on
from scheduling.selectors.property_weather import PropertyWeather, weather_of_property
from scheduling.selectors.weather import climate_of, daily_climate_of
from scheduling.selectors.zone_facts import limits_of, zone_facts


@dataclass(frozen=True)
class Unscored:
    """Why something has no score or record."""

    code: str
    sentence: str


WEATHER_MISSING: Final = Unscored("weather-missing", "Too many of these days have no weather.")


@dataclass(frozen=True)
class ZoneAccount:
    """The account of one zone, a day in each row.

    `setting_since` is the day from which a setting is known; before it no watering is in the
    account, and None is none at all. The days say where the usual ET0 stood in for weather that
    nobody has, and where it was taken not to rain.
    """

    zone: Zone
    facts: ZoneFacts
    weather: PropertyWeather
    days: WholeDays
    water: ZoneWater
    setting_since: dt.date | None

    @property
    def need_is_usual(self) -> NDArray[np.bool_]:
        """Return on which days the usual need stood in."""
        return self.days.et0_is_usual

    @property
    def rain_is_unknown(self) -> NDArray[np.bool_]:
        """Return on which days nobody knows the rain."""
        return self.days.rain_is_unknown

    @property
    def days_usual(self) -> int:
        """Return on how many days the usual need stood in."""
        return int(self.need_is_usual.sum())

    @property
    def days_rain_unknown(self) -> int:
        """Return on how many days nobody knows the rain."""
        return int(self.rain_is_unknown.sum())

    @property
    def scores(self) -> dict[str, float | None]:
        """Return adequacy, excess and scheduling efficiency; None is no score."""
        found = vars(scores(self.water.account))
        is_scored = self.unscored is None
        return {
            name: float(values[0]) if is_scored and not np.isnan(values[0]) else None
            for name, values in found.items()
        }

    @property
    def unscored(self) -> Unscored | None:
        """Return why nothing is scored: its waterings or too much of its weather are unknown."""
        unknown = why_unknown(self.setting_since, self.days.dates[0].item())
        if unknown is None and not can_be_scored(self.days.is_usual):
            return WEATHER_MISSING
        return unknown


def why_unknown(setting_since: dt.date | None, first: dt.date) -> Unscored | None:
    """Return why the waterings from `first` on are not known; None where they are."""
    if setting_since is None:
        return Unscored("no-setting", "No setting is known, so nobody knows what was put down.")
    if setting_since > first:
        return Unscored(
            "setting-began-later",
            f"A setting is known from {setting_since} on; what was put down before is not.",
        )
    return None


def setting_known_since(zone: Zone) -> dt.date | None:
    """Return from which day on a setting of the zone's controller is known."""
    settings = ProgramSetting.objects.filter(controller=zone.controller_id)
    return settings.order_by("since").values_list("since", flat=True).first()


def account_of_last_days(zone: Zone, today: dt.date, days: int) -> ZoneAccount:
    """Return the account of so many days up to yesterday."""
    return zone_account(zone, today - dt.timedelta(days=days), today - dt.timedelta(days=1))


def zone_account(zone: Zone, first: dt.date, last: dt.date) -> ZoneAccount:
    """Return the account of a zone from `first` to `last`, both included.

    1. The weather of the property, its gaps filled from neighbours. Where nobody has a day, the
       usual need of that day stands in, and no rain; the account says on which days.
    2. What each setting of the controller put down while it held.
    3. The account itself (`scheduling.domain.zone_account`).
    """
    weather = weather_of_property(zone.property, first, last)
    tests = ruling_tests([zone.pk])
    facts = zone_facts(
        zone,
        tests.get(zone.pk),
        latitude_deg=weather.main.station.latitude,
        mended_on=mended_on([zone], tests).get(zone.pk),
    )
    days = whole_days_of(weather)
    settings = settings_by_controller([zone]).get(zone.controller_id, [])
    water = zone_water(
        facts,
        days,
        waterings_of_settings(zone, facts, settings, days.dates),
        net_fraction=net_fraction_of(zone, facts),
    )
    since = settings[0].since if settings else None
    return ZoneAccount(zone, facts, weather, days, water, since)


def whole_days_of(
    weather: PropertyWeather, usual: Callable[[NDArray[np.datetime64]], Array] | None = None
) -> WholeDays:
    """Return the days of a property; where nobody has one, the usual ET0 stands in, and no rain.

    `usual` gives the usual ET0 of days where the year of the station was read before.
    """
    station = weather.main.station

    def of_station(dates: NDArray[np.datetime64]) -> Array:
        return usual_et0_mm(dates, daily_climate_of(station), lambda: climate_of(station))

    et0, rain = (weather.series[name].values for name in ("et0_mm", "rain_mm"))
    return whole_days(weather.dates, et0, rain, usual or of_station)


def net_fraction_of(zone: Zone, facts: ZoneFacts) -> float:
    """Return what of a watering reaches the roots evenly: 1 / run-time multiplier."""
    return 1.0 / run_time_margin(facts, limits_of(zone.controller)).multiplier


def settings_by_controller(zones: Iterable[Zone]) -> dict[UUID | None, list[ProgramSetting]]:
    """Return for each controller of the zones all its settings, the oldest first."""
    controllers = {zone.controller_id for zone in zones if zone.controller_id}
    found: dict[UUID | None, list[ProgramSetting]] = {}
    if controllers:
        settings = with_programs(ProgramSetting.objects.filter(controller__in=controllers))
        for setting in settings.order_by("since", "id"):
            found.setdefault(setting.controller_id, []).append(setting)
    return found


def waterings_of_settings(
    zone: Zone,
    facts: ZoneFacts,
    settings: Sequence[ProgramSetting],
    dates: NDArray[np.datetime64],
) -> DatedWaterings:
    """Return what the settings put down, each from its first day to that of the next."""
    surface = Surface(
        rate_mm_h=facts.rate_mm_h,
        intake_mm_h=intake_of(facts),
        accumulation_mm=accumulation_of(facts),
    )
    total = np.zeros((3, dates.size))
    ends = [setting.since for setting in settings[1:]]
    for setting, end in zip(settings, [*ends, dt.date.max], strict=False):
        held = dated_waterings(
            [found_program(program) for program in setting.programs.all()],
            zone.pk,
            dates,
            seasonal_percent=setting.seasonal_percent,
            since=setting.since,
            surface=surface,
        )
        is_held = dates < np.datetime64(end, "D")
        total += is_held * np.array([held.gross_mm, held.runoff_mm, held.soak_runoff_mm])
    return DatedWaterings(*total)
