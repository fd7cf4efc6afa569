from __future__ import annotations

import random
from dataclasses import replace

import pytest

from scheduling.domain.programs import (
    ControllerAbility,
    ControllerTask,
    HourWindow,
    ProgramRules,
    Stop,
    ZoneKind,
    ZoneNeed,
    fit_programs,
)
from tests.scheduling.domain.program_brute_force import cheapest_cost
from tests.scheduling.domain.program_grid import assert_legal

CONTROLLERS = 200


def random_zone(number: int, rng: random.Random) -> ZoneNeed:
    return ZoneNeed(
        zone_id=number,
        kind=rng.choice([ZoneKind.SPRINKLER, ZoneKind.SPRINKLER, ZoneKind.DRIP]),
        need_mm_week=rng.choice([4.0, 11.0, 20.0, 35.0]),
        rate_mm_h=rng.choice([12.0, 24.0, 37.0]),
        longest_cycle_min=rng.choice([10, 15, 20, 30]),
        soak_min=rng.choice([0, 10, 25, 40]),
        day_limit_mm=rng.choice([8.0, 1000.0]),
        store_mm=rng.choice([None, 7.0, 16.0]),
        longest_gap_days=rng.choice([None, 2, 4]),
        weight=rng.choice([0.5, 1.0, 3.0]),
    )


def random_task(seed: int) -> ControllerTask:
    rng = random.Random(seed)
    opens = rng.choice([300, 360])
    windows = [HourWindow(opens, opens + rng.choice([15, 25, 40, 60, 100]))]
    if rng.random() < 0.25:
        windows.append(HourWindow(1200, 1220))
    programs = rng.choice([1, 2, 2])
    days = rng.choice([{0, 3}, {1, 2}, {0, 2, 4}])
    is_free = rng.random() < 0.2
    return ControllerTask(
        ability=ControllerAbility(
            programs=programs,
            starts_per_program=rng.choice([1, 2, 2, 3]),
            minute_step=rng.choice([5, 5, 10]),
            shortest_run_min=rng.choice([5, 10]),
            longest_run_min=rng.choice([10, 20, 30]),
            can_weekdays=not is_free,
            interval_days=rng.choice([0, 2]) if not is_free else 2,
        ),
        zones=tuple(random_zone(n, rng) for n in range(rng.choice([1, 2, 3]))),
        rules=ProgramRules(
            allowed_weekdays=frozenset(range(7)) if is_free else frozenset(days),
            windows=tuple(windows),
            daily_minutes_cap=rng.choice([None, 20.0]),
            daily_depth_cap_mm=rng.choice([None, 9.0]),
        ),
        drip_rules=rng.choice([None, None, drip_rules(rng)]),
    )


def drip_rules(rng: random.Random) -> ProgramRules:
    """Other days and hours, which overlap those of the sprinklers."""
    opens = rng.choice([280, 310])
    return ProgramRules(
        allowed_weekdays=frozenset(rng.choice([{0, 1, 3}, {2, 4}, {0, 3, 5}])),
        windows=(HourWindow(opens, opens + rng.choice([25, 70])),),
    )


@pytest.mark.parametrize("first", range(0, CONTROLLERS, 25))
def test_the_cost_is_that_of_trying_every_setting(first):
    # Arithmetic: the same question answered by enumeration, on made-up controllers.
    for seed in range(first, first + 25):
        task = random_task(seed)

        fit = fit_programs(task, Stop(seconds=60))

        assert fit.is_optimal, seed
        assert fit.gap == pytest.approx(0.0, abs=1e-6)
        assert fit.cost == pytest.approx(cheapest_cost(task), abs=1e-5), seed
        assert_legal(task, fit, days=28)


def crowded_task(seed: int) -> ControllerTask:
    """A sprinkler and a drip zone whose hours lie within each other and hold both only in turn."""
    rng = random.Random(seed)
    kinds = (ZoneKind.SPRINKLER, ZoneKind.DRIP)
    opens = rng.choice([300, 305, 310, 315, 320])
    return ControllerTask(
        ability=ControllerAbility(
            programs=2,
            starts_per_program=rng.choice([1, 2]),
            minute_step=5,
            shortest_run_min=5,
            longest_run_min=rng.choice([10, 20]),
            interval_days=0,
        ),
        zones=tuple(
            replace(random_zone(number, rng), kind=kind, need_mm_week=35.0)
            for number, kind in enumerate(kinds)
        ),
        rules=ProgramRules(
            allowed_weekdays=frozenset(rng.choice([{1}, {1, 2}])),
            windows=(HourWindow(opens, opens + rng.choice([10, 15, 20, 25])),),
        ),
        drip_rules=ProgramRules(allowed_weekdays=frozenset({1}), windows=(HourWindow(300, 345),)),
    )


def test_the_cost_is_that_of_trying_every_setting_where_hours_are_crowded():
    for seed in range(60):
        task = crowded_task(seed)

        fit = fit_programs(task, Stop(seconds=60))

        assert fit.is_optimal, seed
        assert fit.cost == pytest.approx(cheapest_cost(task), abs=1e-5), seed
        assert_legal(task, fit, days=28)
