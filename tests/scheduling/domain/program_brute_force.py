"""The cheapest setting of a tiny controller, found by trying every one; written apart from the fit.

All numbers are multiples of five minutes, so starts on that grid miss nothing.
"""

from __future__ import annotations

import itertools

from tests.scheduling.domain.program_grid import DAY, minute_is_allowed, rules_of

GRID = 5
DAYS = 14


def day_sets(task):
    """Every day pattern that the controller can do, as days of a fortnight."""
    sets = []
    if task.ability.can_weekdays:
        for size in range(1, 8):
            for chosen in itertools.combinations(range(7), size):
                sets.append(frozenset(d for d in range(DAYS) if d % 7 in chosen))
    for every in range(1, task.ability.interval_days + 1):
        for first in range(every):
            sets.append(frozenset(d for d in range(DAYS) if d % every == first))
    return list(dict.fromkeys(sets))


def zone_cost(zone, days, minutes_a_day):
    """Weighted shortfall and excess of a week, gap by gap."""
    lasts = zone.longest_gap_days or 1000
    if zone.store_mm is not None:
        lasts = min(lasts, zone.store_mm / (zone.need_mm_week / 7))
    ordered = sorted(days)
    usable = 0.0
    for day, following in zip(ordered, [*ordered[1:], ordered[0] + DAYS], strict=True):
        usable += min(following - day, lasts) * zone.need_mm_week / 7
    put = minutes_a_day * zone.rate_mm_h / 60 * len(days)
    used = min(put, usable)
    return zone.weight * (zone.need_mm_week - used * 7 / DAYS + (put - used) * 7 / DAYS)


def stretch_of(rules, begin, end):
    """The last minute of the stretch of allowed hours of one calendar day that holds the run."""
    minute = begin % DAY
    while minute < DAY and any(w.opens_min <= minute < w.closes_min for w in rules.windows):
        minute += 1
    return minute if begin % DAY + end - begin <= minute else None


def timetables(task, zones, minutes, starts, days):
    """Every choice of start times of a program that keeps its own hours and soaks."""
    total = sum(minutes)
    rules = [rules_of(task, zone) for zone in zones]
    if not all(minute_is_allowed(r, d * DAY + w.opens_min) for r in rules for d in days
               for w in r.windows[:1]):  # fmt: skip
        return
    begins = [
        b for b in range(0, DAY, GRID)
        if all(stretch_of(r, b, b + total) is not None for r in rules)
    ]  # fmt: skip
    for chosen in itertools.combinations(begins, starts):
        ends = {tuple(stretch_of(r, b, b + total) for r in rules) for b in chosen}
        if len(ends) > 1:
            continue
        gaps = [b - a for a, b in itertools.pairwise(chosen)]
        waits = [total, *(m + z.soak_min for m, z in zip(minutes, zones, strict=True))]
        if all(gap >= max(waits) for gap in gaps):
            yield chosen[0], chosen[-1] + total, ends.pop()


def is_possible(task, programs):
    """Whether some timetables of all programs never run on the same day at once."""
    options = [list(timetables(task, *program)) for program in programs]
    for choice in itertools.product(*options):
        if all(
            not (programs[i][3] & programs[j][3])
            or choice[i][1] <= choice[j][0]
            or choice[j][1] <= choice[i][0]
            for i, j in itertools.combinations(range(len(programs)), 2)
        ):
            return True
    return False


def cheapest_cost(task):
    """Try every assignment, day set, number of starts, minutes and start time, cheap ones first."""
    allowed = [
        days for days in day_sets(task)
        if any(all(d % 7 in rules_of(task, z).allowed_weekdays for d in days) for z in task.zones)
    ]  # fmt: skip
    shapes = list(itertools.product(allowed, range(1, task.ability.starts_per_program + 1)))
    unserved = [zone.weight * zone.need_mm_week for zone in task.zones]
    settings = []
    for shape in itertools.combinations_with_replacement(shapes, task.ability.programs):
        per_zone = [
            [(unserved[n], None, 0), *zone_choices(task, zone, shape)]
            for n, zone in enumerate(task.zones)
        ]
        for choice in itertools.product(*per_zone):
            settings.append((sum(c[0] for c in choice), shape, choice))
    settings.sort(key=lambda setting: setting[0])
    for cost, shape, choice in settings:
        programs = []
        for number, (days, starts) in enumerate(shape):
            mine = [n for n, c in enumerate(choice) if c[1] == number]
            zones = [task.zones[n] for n in mine]
            if mine:
                programs.append((zones, [choice[n][2] for n in mine], starts, days))
        mixed = any(len({z.kind for z in p[0]}) > 1 for p in programs)
        if not (mixed and task.ability.programs > 1) and is_possible(task, programs):
            return cost
    return sum(unserved)  # there is no day that it can be set to


def zone_choices(task, zone, shape):
    ability, rules = task.ability, rules_of(task, zone)
    for number, (days, starts) in enumerate(shape):
        if any(d % 7 not in rules.allowed_weekdays for d in days):
            continue
        longest = min(ability.longest_run_min, zone.longest_cycle_min)
        for minutes in range(ability.minute_step, int(longest) + 1, ability.minute_step):
            depth_mm = minutes * starts * zone.rate_mm_h / 60
            if minutes < ability.shortest_run_min or depth_mm > zone.day_limit_mm + 1e-9:
                continue
            if depth_mm > (rules.daily_depth_cap_mm or 1e9) + 1e-9:
                continue
            if minutes * starts <= (rules.daily_minutes_cap or 1e9):
                yield zone_cost(zone, days, minutes * starts), number, minutes
