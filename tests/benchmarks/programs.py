"""How long a fit takes and how near to the best it is proven to be, by size and by hours.

Run with `.venv/bin/python -m tests.benchmarks.programs`; pytest does not collect it.
"""

from __future__ import annotations

import time

import numpy as np

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

STOP = Stop(seconds=1.0, rounds=6)
HOURS = {"8 h": HourWindow(22 * 60, 6 * 60), "4 h": HourWindow(4 * 60, 8 * 60)}
DAYS = {"any day": frozenset(range(7)), "three days": frozenset({0, 2, 4})}


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


def timed(task: ControllerTask) -> tuple[ProgramFit, float]:
    began = time.perf_counter()
    fit = fit_programs(task, STOP)
    return fit, time.perf_counter() - began


def main() -> None:
    print("zones  days        hours  seconds     cost    bound      gap  proven")
    for count in (6, 12, 24, 48):
        for day_words, days in DAYS.items():
            for hour_words, window in HOURS.items():
                fit, seconds = timed(task_of(count, days, window))
                print(
                    f"{count:5}  {day_words:10}  {hour_words:5}  {seconds:7.2f}  {fit.cost:7.2f}"
                    f"  {fit.bound:7.2f}  {fit.gap:7.3f}  {fit.is_optimal}"
                )


if __name__ == "__main__":
    main()
