"""The trial: our way of watering on the six reference zones, handed to the judge.

The plan sees Hargreaves ET0 (through the local calibration, fitted anew each year on all years
before it, as the product does when days come in) and the station's rain; the judge has another ET0
and another rain. `python -m tests.scheduling.judge.report` prints the scores.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from scheduling.domain.et0_calibration import local_calibration
from scheduling.domain.evapotranspiration import extraterrestrial_radiation, hargreaves
from scheduling.domain.rain import daily_effective_rain_mm
from scheduling.domain.refill import RefillRule, RefillWeather, RefillZones, refill_when_due
from scheduling.domain.soil import (
    accumulation_mm,
    intake_mm_h,
    max_cycle_min,
    soak_min,
    watering_day_limit_mm,
)
from scheduling.domain.water_events import runs_for
from tests.scheduling.judge.judge import (
    RAIN_THAT_COUNTS,
    JudgedDay,
    Run,
    Verdict,
    judge_zone,
    verdict,
)
from tests.scheduling.judge.open_weather import Series, elsewhere, read_series
from tests.scheduling.judge.reference_zones import ZONES

INCH_MM = 25.4
WINDOW_DAYS = 30
LEAST_RAIN_MM, LEAST_ET0_MM = 10.0, 60.0
LEAST_ADEQUACY, MOST_EXCESS, MOST_MEAN_EXCESS = 0.80, 0.10, 0.05  # SOIL-19
# The numbers of the rule were chosen on the first three sites, the last two seen afterwards; when
# they had been seen the portion went from 0.5 to 0.4, for the first three are better with it.
SITES = ("champion", "cordoba", "hyderabad")
HELD_OUT = ("tunis", "brussels")
TRIAL_YEARS = {
    "champion": (2009, 2018),
    "cordoba": (2012, 2021),
    "hyderabad": (2005, 2010),
    "tunis": (1992, 2001),
    "brussels": (1996, 2005),
}
FIRST_CALIBRATION_YEAR = {
    "champion": 1999,
    "cordoba": 2002,
    "hyderabad": 2000,
    "tunis": 1982,
    "brussels": 1986,
}

RULE = RefillRule()


@dataclass(frozen=True)
class Setting:
    """What the plan does: as the product does by default; the rest are mutants and probes."""

    rule: RefillRule = RULE
    calibrated: bool = True
    refitted: bool = True  # each year, on all years before it; else once, before the first
    forecast: bool = False
    morning_reading: bool = False  # the gauge is read before the watering of its day
    by_multiplier: bool = False  # the run-time multiplier in place of 1/e
    et0_factor: float = 1.0
    ignores_rain: bool = False
    rain_first: bool = False  # the judge's order of the day
    rain_share: float = RAIN_THAT_COUNTS  # what the judge counts of it
    seed: int = 20


@dataclass(frozen=True)
class Window:
    """One window of thirty days: the verdict on each of the six zones."""

    first_day: int
    starts_on: dt.date
    verdicts: tuple[Verdict, ...]

    @property
    def least_adequacy(self) -> float:
        return min(v.adequacy for v in self.verdicts if v.adequacy is not None)

    @property
    def excesses(self) -> list[float]:
        return [v.excess for v in self.verdicts if v.excess is not None]

    @property
    def is_adequate(self) -> bool:
        return self.least_adequacy >= LEAST_ADEQUACY

    @property
    def is_frugal(self) -> bool:
        most = max(self.excesses, default=0.0)
        mean = float(np.mean(self.excesses)) if self.excesses else 0.0
        return most <= MOST_EXCESS and mean <= MOST_MEAN_EXCESS

    @property
    def is_inside(self) -> bool:
        return self.is_adequate and self.is_frugal


def plan_et0(series: Series, *, calibrated: bool = True, refitted: bool = True) -> np.ndarray:
    """Hargreaves ET0 of the trial years [mm d-1], from temperatures alone."""
    first, last = TRIAL_YEARS[series.site]
    if not calibrated:
        return _hargreaves(series.years(first, last))
    spans = [(year, year) for year in range(first, last + 1)] if refitted else [(first, last)]
    return np.concatenate([_calibrated(series, *span) for span in spans])


def usual_et0(series: Series) -> np.ndarray:
    """Calibrated ET0 of the years before the trial [mm d-1], on which the usual year stands."""
    return _calibrated(series, FIRST_CALIBRATION_YEAR[series.site], TRIAL_YEARS[series.site][0] - 1)


def _calibrated(series: Series, first: int, last: int) -> np.ndarray:
    known_until = max(first, TRIAL_YEARS[series.site][0]) - 1
    before = series.years(FIRST_CALIBRATION_YEAR[series.site], known_until)
    fit = local_calibration(_hargreaves(before), before.et0_mm)
    return np.asarray(fit.apply(_hargreaves(series.years(first, last))))


def run_trial(site: str, setting: Setting) -> list[Window]:
    """Water the six zones for the trial years and judge every window that qualifies."""
    series = read_series(site)
    trial = series.years(*TRIAL_YEARS[site])
    et0 = _known_et0(site, setting.calibrated, setting.refitted)
    runs = plan_runs(trial, et0, setting)
    rain = elsewhere(trial.rain_mm, setting.seed)
    judged = [
        judge_zone(
            zone,
            zone_runs,
            et0_mm=trial.et0_mm,
            rain_mm=rain,
            months=trial.months,
            rain_first=setting.rain_first,
            rain_share=setting.rain_share,
        )
        for zone, zone_runs in zip(ZONES, runs, strict=True)
    ]
    return _windows(trial, judged)


def plan_runs(
    trial: Series, et0_mm: np.ndarray, setting: Setting, *, may_water: ArrayLike = True
) -> list[list[Run | None]]:
    """What our rule has each of the six controllers run, day by day."""
    rate = np.array([zone.rate_in_h for zone in ZONES]) * INCH_MM
    efficiency = np.array([zone.efficiency for zone in ZONES])
    crop = np.array([[zone.crop[month] * zone.sun for zone in ZONES] for month in trial.months])
    rain = daily_effective_rain_mm(trial.rain_mm * (not setting.ignores_rain), et0_mm)
    if setting.morning_reading:
        rain = np.append(rain[1:], 0.0)
    limit = [watering_day_limit_mm(zone.texture, zone.slope_percent) for zone in ZONES]
    weather = RefillWeather(
        need_mm=crop * et0_mm[:, np.newaxis] * setting.et0_factor,
        effective_rain_mm=rain[:, np.newaxis],
        forecast_rain_mm=_forecast(trial)[:, np.newaxis] if setting.forecast else None,
    )
    zones = RefillZones(
        storage_mm=np.array([zone.storage_in for zone in ZONES]) * INCH_MM,
        net_fraction=0.4 + 0.6 * efficiency if setting.by_multiplier else efficiency,
        day_limit_mm=limit,
        may_water=may_water,
    )
    refills = refill_when_due(weather, zones, setting.rule)
    return [_zone_runs(zone, refills.gross_mm[:, at], rate[at]) for at, zone in enumerate(ZONES)]


@dataclass(frozen=True)
class Drift:
    """What the plan knew over the window and the sixty days before, over what the judge saw."""

    et0: float
    rain: float


def drift(site: str, setting: Setting, window: Window) -> Drift:
    """Explain a window: how far the plan's weather was from the judge's."""
    series = read_series(site)
    trial = series.years(*TRIAL_YEARS[site])
    et0 = _known_et0(site, setting.calibrated, setting.refitted)
    known = daily_effective_rain_mm(trial.rain_mm, et0)
    seen = setting.rain_share * elsewhere(trial.rain_mm, setting.seed)
    days = slice(max(0, window.first_day - 60), window.first_day + WINDOW_DAYS)
    return Drift(et0[days].sum() / trial.et0_mm[days].sum(), known[days].sum() / seen[days].sum())


def share(windows: Sequence[Window], attribute: str) -> float:
    """The part of the windows of which something is true."""
    return float(np.mean([getattr(window, attribute) for window in windows]))


@cache
def _known_et0(site: str, calibrated: bool, refitted: bool) -> np.ndarray:
    return plan_et0(read_series(site), calibrated=calibrated, refitted=refitted)


def _hargreaves(series: Series) -> np.ndarray:
    day = np.array([date.timetuple().tm_yday for date in series.dates])
    radiation = extraterrestrial_radiation(series.latitude_deg, day)
    return hargreaves(series.tmin_c, np.maximum(series.tmax_c, series.tmin_c), radiation)


def _forecast(trial: Series) -> np.ndarray:
    """A forecast of the day's rain that is often wrong: the rain of yet another place."""
    return daily_effective_rain_mm(elsewhere(trial.rain_mm, 77), 0.0)


def _zone_runs(zone, gross_mm: np.ndarray, rate_mm_h: float) -> list[Run | None]:
    intake, standing = intake_mm_h(zone.texture), accumulation_mm(zone.texture, zone.slope_percent)
    longest = max_cycle_min(rate_mm_h, intake, standing)
    runs = runs_for(gross_mm, rate_mm_h, longest, step_min=1.0)
    soak = np.ceil(soak_min(intake, standing))
    return [
        Run(int(cycles), float(minutes), float(soak)) if cycles * minutes else None
        for cycles, minutes in zip(runs.cycles, runs.cycle_min, strict=True)
    ]


def _windows(trial: Series, judged: list[list[JudgedDay]]) -> list[Window]:
    windows = []
    for first in range(0, len(trial.dates) - WINDOW_DAYS + 1, WINDOW_DAYS):
        days = slice(first, first + WINDOW_DAYS)
        if trial.rain_mm[days].sum() < LEAST_RAIN_MM or trial.et0_mm[days].sum() < LEAST_ET0_MM:
            continue
        verdicts = tuple(verdict(zone_days[days]) for zone_days in judged)
        windows.append(Window(first, trial.dates[first], verdicts))
    return windows
