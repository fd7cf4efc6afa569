"""How long a fit takes and how near to the best it is proven to be, by size and by hours.

Run with `.venv/bin/python -m tests.benchmarks.programs`; pytest does not collect it.
"""

from __future__ import annotations

import time

import numpy as np
from scipy import sparse
from scipy.optimize import linprog

from scheduling.domain.programs import (
    ControllerAbility,
    ControllerTask,
    HourWindow,
    ProgramFit,
    ProgramRules,
    Stop,
    ZoneKind,
    ZoneNeed,
    fit_programs,
)
from scheduling.domain.programs_assign import menu_of

STOP = Stop()
HOURS = {"8 h": HourWindow(22 * 60, 6 * 60), "4 h": HourWindow(4 * 60, 8 * 60)}
DAYS = {
    "any day": frozenset(range(7)),
    "three days": frozenset({0, 2, 4}),
    "two days": frozenset({0, 3}),
}


def made_up_zones(count: int, seed: int = 20261125) -> tuple[ZoneNeed, ...]:
    """Lawns under sprays and rotors, and every fourth zone drip."""
    rng = np.random.default_rng(seed)
    return tuple(_zone(number, rng) for number in range(count))


def _zone(number: int, rng: np.random.Generator) -> ZoneNeed:
    if number % 4 == 3:
        return ZoneNeed(
            zone_id=number,
            kind=ZoneKind.DRIP,
            need_mm_week=float(rng.uniform(10, 25)),
            rate_mm_h=float(rng.uniform(12, 25)),
            store_mm=float(rng.uniform(12, 40)),
        )
    rate = float(rng.choice([12.0, 15.0, 38.0, 42.0]) * rng.uniform(0.8, 1.2))
    return ZoneNeed(
        zone_id=number,
        need_mm_week=float(rng.uniform(25, 50)),
        rate_mm_h=rate,
        longest_cycle_min=float(60 * 6.0 / max(rate - 9.0, 2.0)),
        soak_min=30.0,
        store_mm=float(rng.uniform(10, 30)),
    )


def task_of(count: int, days: frozenset[int], window: HourWindow) -> ControllerTask:
    """A controller of four programs with four starts each."""
    return ControllerTask(
        ability=ControllerAbility(programs=4, starts_per_program=4),
        zones=made_up_zones(count),
        rules=ProgramRules(allowed_weekdays=days, windows=(window,)),
        drip_rules=ProgramRules(),
    )


def plain_relaxation(task: ControllerTask) -> float:
    """Return what a mean week costs at least where programs and zones come in fractions.

    The floor: one linear program, written straight down, without days, starts of the clock or
    whole programs.
    """
    menu = menu_of([task])
    table, unserved = menu.table, np.array(menu.unserved)
    third, row, zone = np.nonzero(table.costs < unserved)
    at, one = (third, row, zone), np.ones(len(zone))
    takes, ways, zones = np.arange(len(zone)), len(table.ways), len(unserved)
    kinds = np.array([client.zone.kind is ZoneKind.DRIP for client in menu.clients])
    week = [(kinds[zone] == is_drip) * table.minutes[at] for is_drip in (False, True)]
    pairs, of_pair = np.unique(row * zones + zone, return_inverse=True)
    used = len(zone) + pairs // zones
    limits = sparse.vstack([
        sparse.coo_array((one, (of_pair, takes)), shape=(len(pairs), len(zone) + ways))
        - sparse.coo_array((np.ones(len(pairs)), (np.arange(len(pairs)), used)),
                           shape=(len(pairs), len(zone) + ways)),
        sparse.coo_array((one, (zone, takes)), shape=(zones, len(zone) + ways)),
        np.array([[*minutes, *np.zeros(ways)] for minutes in week]),
        np.array([[*np.zeros(len(zone)), *np.ones(ways)]]),
    ])  # fmt: skip
    minutes = [_minutes(task.rules_for(kind)) for kind in (ZoneKind.SPRINKLER, ZoneKind.DRIP)]
    highs = [*np.zeros(len(pairs)), *np.ones(zones), *minutes, task.ability.programs]
    gains = np.concatenate([table.costs[at] - unserved[zone], np.zeros(ways)])
    return float(unserved.sum() + linprog(gains, A_ub=limits.tocsr(), b_ub=highs).fun)


def _minutes(rules: ProgramRules) -> int:
    return len(rules.minutes()) * len(rules.allowed_weekdays)


def timed(task: ControllerTask) -> tuple[ProgramFit, float, float, float]:
    began = time.perf_counter()
    fit = fit_programs(task, STOP)
    ended = time.perf_counter()
    floor = plain_relaxation(task)
    return fit, ended - began, floor, time.perf_counter() - ended


def main() -> None:
    print("zones  days        hours  seconds  x LP      cost    bound       LP     gap  gap/need")
    for count in (6, 12, 24, 48):
        for day_words, days in DAYS.items():
            for hour_words, window in HOURS.items():
                task = task_of(count, days, window)
                fit, seconds, floor, floor_seconds = timed(task)
                need = sum(zone.ruling_weight * zone.need_mm_week for zone in task.zones)
                print(
                    f"{count:5}  {day_words:10}  {hour_words:5}  {seconds:7.2f}"
                    f"  {seconds / floor_seconds:4.1f}  {fit.cost:8.2f} {fit.bound:8.2f}"
                    f" {floor:8.2f}  {fit.gap:6.2f}  {fit.gap / need:8.3%}"
                    f"  {'proven' if fit.is_optimal else 'stopped, best so far'}"
                )


if __name__ == "__main__":
    main()
