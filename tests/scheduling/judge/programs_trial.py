"""The six reference zones on one controller: what is ideal, fitted and found, before the judge.

Where the usual night of a month freezes, nothing runs and nothing is judged. The programs know
nothing of the weather; only the ideal and whoever follows the rule for rain in words do. `python -m
tests.scheduling.judge.programs_report` prints the table.

The found program is invented, as a homeowner might have set it once: eighteen minutes wherever
there are sprays, hardly more for the rotors, and every day pattern that he once liked.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from scheduling.domain.programs import (
    DayPattern,
    FittedProgram,
    ProgramFit,
    SeasonFit,
    Stop,
    Unmet,
    fit_programs,
    season_by_days,
    season_by_percent,
)
from scheduling.domain.zone_plans import SeasonPlan
from tests.scheduling.judge.judge import Run, Verdict, judge_zone, verdict
from tests.scheduling.judge.open_weather import elsewhere, read_series
from tests.scheduling.judge.programs_site import FOOT_M2, Trial, task_of, trial_at
from tests.scheduling.judge.reference_zones import ZONES, ReferenceZone
from tests.scheduling.judge.trial import INCH_MM, Setting, plan_et0, plan_runs

MONDAY = dt.date(1970, 1, 5)
STOP = Stop(seconds=5.0, rounds=4)  # as the product fits a stored controller


@dataclass(frozen=True)
class _Found:
    """A program of the found setting: days, starts [min of the day] and minutes by zone."""

    days: DayPattern
    starts_min: tuple[int, ...]
    minutes: dict[int, float]


FOUND = (
    _Found(DayPattern(weekdays=(0, 2, 4, 6)), (300,), {0: 18.0, 1: 18.0, 5: 25.0}),
    _Found(DayPattern(every_days=2), (240, 1170), {2: 10.0, 3: 10.0}),
    _Found(DayPattern(weekdays=(1, 5)), (390,), {4: 120.0}),
)

Runs = list[list[Run | None]]


@dataclass(frozen=True)
class Outcome:
    """The verdict on each zone over the days judged, water a year, and what the fit left unmet."""

    verdicts: tuple[Verdict, ...]
    m3_a_year: float
    unmet: tuple[Unmet, ...] = ()

    @property
    def amiss(self) -> np.ndarray:
        """What is missing of the need, and what is lost of the water, of each zone together."""
        return np.array([1.0 - each.adequacy + (each.excess or 0.0) for each in self.verdicts])

    def mean(self, name: str) -> float:
        """The mean of a score over the zones that have one."""
        scores = [getattr(each, name) for each in self.verdicts]
        return float(np.mean([score for score in scores if score is not None]))


def ideal(trial: Trial, rule: str) -> Outcome:
    """Our daily way of watering, on the days that the rule allows."""
    return judged(trial, ideal_runs(trial, rule))


def ideal_runs(trial: Trial, rule: str) -> Runs:
    """What our daily way of watering runs."""
    weekdays = [date.weekday() for date in trial.days.dates]
    allowed = np.isin(weekdays, sorted(trial.span(rule).weekdays)) & trial.is_season
    et0 = plan_et0(read_series(trial.site))[: len(trial.days.dates)]
    return plan_runs(trial.days, et0, Setting(), may_water=allowed[:, np.newaxis])


def found(trial: Trial, rule: str) -> Outcome:
    """The same minutes all year; under a rule on the days that it leaves."""
    weekdays = trial.span(rule).weekdays
    forced = None if len(weekdays) == 7 else DayPattern(weekdays=tuple(sorted(weekdays)))
    runs: Runs = [[] for _ in ZONES]
    for program in FOUND:
        for zone, minutes in program.minutes.items():
            run = run_of(program.starts_min, minutes)
            runs[zone] = [
                run if runs_on(forced or program.days, date) else None for date in trial.days.dates
            ]
    return judged(trial, runs)


def fitted_by_month(trial: Trial, rule: str, *, part: float = 1.0) -> Outcome:
    """Programs fitted for each month anew, as the product stores them; `part` of their minutes."""
    runs, unmet = _month_runs(trial, rule, part)
    return replace(judged(trial, runs), unmet=unmet)


def fitted_with_rain_rule(trial: Trial, rule: str) -> Outcome:
    """The same, by somebody who skips each zone after a rain as its plan says in words."""
    runs, unmet = _month_runs(trial, rule, 1.0)
    skipped = [
        [None if skips else run for run, skips in zip(ran, _rain_skips(trial, plan), strict=True)]
        for ran, plan in zip(runs, trial.plans, strict=True)
    ]
    return replace(judged(trial, skipped), unmet=unmet)


def fitted_by_days(trial: Trial, rule: str) -> Outcome:
    """Same minutes all year, other days each month."""
    return _season(trial, rule, season_by_days)


def fitted_by_percent(trial: Trial, rule: str) -> Outcome:
    """Same days all year, another percentage each month."""
    return _season(trial, rule, season_by_percent)


WAYS: dict[str, Callable[[Trial, str], Outcome]] = {
    "ideal": ideal,
    "fitted, each month": fitted_by_month,
    "with its rain rule": fitted_with_rain_rule,
    "fitted, other days": fitted_by_days,
    "fitted, percent": fitted_by_percent,
    "found": found,
}


def judged(trial: Trial, runs: Runs) -> Outcome:
    """Let the separate judge keep the accounts, and score the season's days."""
    days, season_days = trial.days, np.flatnonzero(trial.is_season)
    rain = elsewhere(days.rain_mm, Setting().seed)
    verdicts, litres = [], 0.0
    for zone, planned in zip(ZONES, runs, strict=True):
        ran = [run if on else None for run, on in zip(planned, trial.is_season, strict=True)]
        account = judge_zone(zone, ran, et0_mm=days.et0_mm, rain_mm=rain, months=days.months)
        verdicts.append(verdict([account[day] for day in season_days]))
        gross_mm = sum(day.net for day in account) / zone.efficiency * INCH_MM
        litres += gross_mm * zone.area_ft2 * FOOT_M2
    return Outcome(tuple(verdicts), litres / 1000.0 / (len(days.dates) / 365.25))


@cache
def _fits(site: str, years: int, rule: str) -> tuple[ProgramFit, ...]:
    trial = trial_at(site, years)
    return tuple(fit_programs(task_of(trial, rule, month), STOP) for month in range(12))


def _month_runs(trial: Trial, rule: str, part: float) -> tuple[Runs, tuple[Unmet, ...]]:
    fits = _fits(trial.site, trial.years, rule)
    settings = [[(program, program.pattern, part) for program in fit.programs] for fit in fits]
    return _program_runs(trial, settings), fits[trial.peak].unmet


def _rain_skips(trial: Trial, plan: SeasonPlan) -> np.ndarray:
    """On which days the plan's rule for rain in words holds a zone back."""
    rain, skips = trial.days.rain_mm, np.zeros(len(trial.days.dates), dtype=bool)
    rules = [plan.months[date.month - 1].rain_skip for date in trial.days.dates]
    for day, rule in enumerate(rules):
        if rule is not None and rain[day] >= rule.rain_mm:
            skips[day + 1 : day + 1 + rule.days] = True
    return skips


def _season(trial: Trial, rule: str, fit: Callable[..., SeasonFit]) -> Outcome:
    needs = {
        zone.name: [need.gross_mm_week for need in plan.month_needs()]
        for zone, plan in zip(ZONES, trial.plans, strict=True)
    }
    fits = fit(task_of(trial, rule, trial.peak), needs, STOP)
    programs = {program.name: program for program in fits.peak.programs}
    settings = [
        [(programs[name], pattern, month.percent / 100) for name, pattern in month.patterns]
        for month in fits.months
    ]
    return replace(judged(trial, _program_runs(trial, settings)), unmet=fits.peak.unmet)


_Setting = Sequence[tuple[FittedProgram, DayPattern | None, float]]


def _program_runs(trial: Trial, settings: Sequence[_Setting]) -> Runs:
    """What the programs run day by day, each month with its days and its part of the minutes."""
    return [
        [next(_of_day(zone, settings[date.month - 1], date), None) for date in trial.days.dates]
        for zone in ZONES
    ]


def _of_day(zone: ReferenceZone, setting: _Setting, date: dt.date) -> Iterator[Run]:
    for program, pattern, part in setting:
        minutes = dict(program.zone_minutes).get(zone.name)
        if minutes and pattern and runs_on(pattern, date):
            starts = [start.hour * 60 + start.minute for start in program.start_times]
            yield run_of(starts, minutes * part)


def run_of(starts_min: Sequence[int], minutes: float) -> Run:
    """The starts of a program are the cycles of its zones; the soak is the shortest pause."""
    pauses = np.diff(sorted(starts_min)) - minutes
    return Run(len(starts_min), minutes, float(pauses.min()) if pauses.size else 0.0)


def runs_on(pattern: DayPattern, date: dt.date) -> bool:
    if pattern.every_days is not None:
        return (date - MONDAY).days % pattern.every_days == pattern.first_day
    return date.weekday() in pattern.weekdays
