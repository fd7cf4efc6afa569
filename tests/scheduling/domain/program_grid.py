"""Fitted programs run minute by minute on a real calendar, written apart from the fit."""

from __future__ import annotations

import itertools
from collections import defaultdict
from datetime import date, timedelta

import numpy as np

from scheduling.domain.programs import ControllerTask, DayPattern, ProgramFit, ZoneKind

MONDAY = date(2024, 1, 1)
DAY = 1440


def runs_on(pattern: DayPattern, day: int) -> bool:
    if pattern.parity is not None:
        return ((MONDAY + timedelta(day)).day % 2 == 1) == (pattern.parity == "odd")
    if pattern.every_days is not None:
        return day % pattern.every_days == pattern.first_day
    return (MONDAY + timedelta(day)).weekday() in pattern.weekdays


def runs(fit: ProgramFit, controller: str, days: int):
    """(begin, end, zone id) in minutes from the first midnight, in order."""
    found = []
    for program, day in itertools.product(fit.programs, range(days)):
        if program.controller != controller or not runs_on(program.pattern, day):
            continue
        for start in program.start_times:
            minute = day * DAY + start.hour * 60 + start.minute
            for zone_id, minutes in program.zone_minutes:
                found.append((minute, minute + minutes, zone_id))
                minute += minutes
    return sorted(found)


def rules_of(task: ControllerTask, zone):
    return task.drip_rules if zone.kind is ZoneKind.DRIP and task.drip_rules else task.rules


def minute_is_allowed(rules, minute: int) -> bool:
    day, of_day = divmod(minute, DAY)
    on = MONDAY + timedelta(day)
    if on.weekday() not in rules.allowed_weekdays:
        return False
    if rules.allowed_parity and (on.day % 2 == 1) != (rules.allowed_parity == "odd"):
        return False
    return any(
        (w.opens_min <= of_day < w.closes_min)
        if w.opens_min < w.closes_min
        else (of_day >= w.opens_min or of_day < w.closes_min)
        for w in rules.windows
    )


def assert_legal(task: ControllerTask, fit: ProgramFit, days: int = 64) -> None:
    zones = {zone.zone_id: zone for zone in task.zones}
    assert_typed_in(task, fit, zones)
    taken = np.zeros((days + 2) * DAY, dtype=int)
    daily = defaultdict(int)
    last_end = {}
    for begin, end, zone_id in runs(fit, task.name, days):
        zone = zones[zone_id]
        rules = rules_of(task, zone)
        taken[begin:end] += 1
        for minute in range(begin, end):
            daily[zone_id, minute // DAY] += 1
        assert minute_is_allowed(rules, begin)
        assert all(minute_is_allowed(rules, minute) for minute in range(begin, end))
        if zone_id in last_end:
            assert begin - last_end[zone_id] >= zone.soak_min
        last_end[zone_id] = end
    assert taken.max() <= 1
    for (zone_id, _), minutes in daily.items():
        zone = zones[zone_id]
        rules = rules_of(task, zone)
        depth_mm = minutes * zone.rate_mm_h / 60
        assert minutes <= (rules.daily_minutes_cap or 1e9)
        assert depth_mm <= (rules.daily_depth_cap_mm or 1e9) + 1e-6
        assert depth_mm <= zone.day_limit_mm + 1e-6


def assert_typed_in(task: ControllerTask, fit: ProgramFit, zones) -> None:
    """What a person types in lies within what the controller can be set to."""
    ability = task.ability
    mine = [program for program in fit.programs if program.controller == task.name]
    assert len(mine) <= ability.programs
    ids = [zone_id for program in mine for zone_id, _ in program.zone_minutes]
    assert len(ids) == len(set(ids))
    for program in mine:
        assert 1 <= len(program.start_times) <= ability.starts_per_program
        assert list(program.start_times) == sorted(program.start_times)
        assert ability.can_weekdays or not program.pattern.weekdays
        assert (program.pattern.every_days or 0) <= ability.interval_days
        assert ability.can_odd_even or program.pattern.parity is None
        kinds = {zones[zone_id].kind for zone_id, _ in program.zone_minutes}
        assert len(kinds) == 1 or ability.programs == 1
        for zone_id, minutes in program.zone_minutes:
            assert minutes % ability.minute_step == 0
            assert ability.shortest_run_min <= minutes <= ability.longest_run_min
            assert minutes <= zones[zone_id].longest_cycle_min


def depth_mm_week(task: ControllerTask, fit: ProgramFit, zone, days: int) -> float:
    minutes = sum(e - b for b, e, zone_id in runs(fit, task.name, days) if zone_id == zone.zone_id)
    return minutes * zone.rate_mm_h / 60 / days * 7
