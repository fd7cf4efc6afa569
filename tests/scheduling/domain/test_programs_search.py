from __future__ import annotations

import itertools
import random
from dataclasses import replace

import pytest

from scheduling.domain import programs_linear, programs_search
from scheduling.domain.programs import (
    HourWindow,
    ProgramRules,
    Stop,
    ZoneNeed,
    fit_controllers,
    fit_programs,
)
from scheduling.domain.programs_assign import assign, menu_of
from scheduling.domain.programs_bounds import weekly_relaxation
from scheduling.domain.programs_fit import turns_of
from scheduling.domain.programs_linear import Deadline
from tests.benchmarks import programs as benchmark
from tests.scheduling.domain.program_brute_force import cheapest_cost
from tests.scheduling.domain.program_grid import assert_legal, runs
from tests.scheduling.domain.test_programs_brute_force import crowded_task, random_task

LONG = Stop(seconds=60)
SMALL = [random_task(seed) for seed in range(300, 340)] + [crowded_task(n) for n in range(20)]


def relaxed(task):
    menu, turns, deadline = menu_of([task]), turns_of([task], None), Deadline.of(LONG)
    return weekly_relaxation(menu, assign(menu, deadline), turns, deadline)


def test_no_setting_undercuts_the_bound_of_the_priced_week():
    # Arithmetic: the cheapest of all settings, found by trying every one.
    for task in SMALL:
        if not any(menu_of([task]).options.values()):
            continue
        assert relaxed(task).bound <= cheapest_cost(task) + 1e-6


def test_prices_of_minutes_bound_no_less_than_fractions_do():
    # A second route: the same week as a linear program, solved in fractions.
    for days, window in itertools.product(benchmark.DAYS.values(), benchmark.HOURS.values()):
        task = benchmark.task_of(24, days, window)

        floor = benchmark.plain_relaxation(task)

        assert relaxed(task).bound >= floor - 2e-3 * (1 + floor)


@pytest.fixture
def only_swaps(monkeypatch):
    """The search without the model of all programs at once."""
    monkeypatch.setattr(programs_search, "FEW_CELLS", -1)
    monkeypatch.setattr(programs_search, "MOST_CELLS", -1)


@pytest.mark.usefixtures("only_swaps")
def test_swaps_alone_come_near_the_cheapest_setting_and_never_below():
    found, cheapest = [], []
    for task in SMALL:
        fit = fit_programs(task, LONG)
        assert_legal(task, fit, days=28)
        found.append(fit.cost)
        cheapest.append(cheapest_cost(task))
        assert fit.bound <= cheapest[-1] + 1e-5
        assert not fit.is_optimal or fit.cost == pytest.approx(cheapest[-1], abs=1e-5)

    assert all(cost >= best - 1e-5 for cost, best in zip(found, cheapest, strict=True))
    assert sum(found) <= 1.02 * sum(cheapest)


@pytest.mark.parametrize(
    ("days", "hours"), [("any day", "4 h"), ("three days", "8 h"), ("two days", "4 h")]
)
def test_twenty_four_zones_come_within_three_per_cent_of_the_bound(days, hours):
    task = benchmark.task_of(24, benchmark.DAYS[days], benchmark.HOURS[hours])

    fit = fit_programs(task, LONG)

    assert fit.gap <= 0.03 * fit.bound
    assert_legal(task, fit, days=40)


def test_a_night_is_filled_from_one_day_into_the_next():
    # Arithmetic: two zones want 300 min a day each, the night has 480, so 120 min x 12 mm/h are
    # missing on each of seven days: 168 mm.
    zone = ZoneNeed(zone_id=0, need_mm_week=420.0, rate_mm_h=12.0, weight=1.0, longest_gap_days=1)
    task = replace(
        benchmark.task_of(4, benchmark.DAYS["any day"], HourWindow(22 * 60, 6 * 60)),
        zones=(zone, replace(zone, zone_id=1)),
    )

    fit = fit_programs(task, LONG)

    assert fit.cost == pytest.approx(168.0)
    assert_legal(task, fit)


def test_odd_dates_that_follow_each_other_keep_their_soak_and_hours():
    # The 31st and the 1st are both odd: a night that begins on the 31st may go on, no other may.
    rules = ProgramRules(allowed_parity="odd", windows=(HourWindow(21 * 60, 5 * 60),))
    task = replace(
        benchmark.task_of(6, frozenset(range(7)), HourWindow(0, 60)), rules=rules, drip_rules=None
    )
    odd = replace(task, ability=replace(task.ability, can_odd_even=True))

    fit = fit_programs(odd, LONG)

    assert {program.pattern.parity for program in fit.programs} == {"odd"}
    assert_legal(odd, fit, days=130)
    for zone in task.zones:
        unmet = [one.code for one in fit_programs(task, LONG).unmet if one.zone_id == zone.zone_id]
        assert "no-day-allowed" in unmet


class CountingClock:
    """A clock on which each look takes a second."""

    def __init__(self):
        self.now = 0.0

    def monotonic(self) -> float:
        self.now += 1.0
        return self.now


@pytest.mark.parametrize("seconds", [1, 10, 30])
def test_one_deadline_ends_the_fit_of_all_controllers_together(monkeypatch, seconds):
    clock = CountingClock()
    monkeypatch.setattr(programs_linear, "time", clock)
    several = [
        replace(
            benchmark.task_of(8, frozenset({0, 3}), HourWindow(240, 480)),
            name=name,
            zones=tuple(replace(zone, flow_l_min=20.0) for zone in benchmark.made_up_zones(8)),
        )
        for name in ("north", "south")
    ]

    fit = fit_controllers(several, 30.0, Stop(seconds=seconds))

    assert clock.now <= seconds + 150  # looks, so it ends soon after
    assert fit.stopped_early
    assert fit.gap > 0
    assert "stopped-early" in {one.code for one in fit.unmet}
    for task in several:
        assert_legal(task, fit, days=28)
    both = sorted(run for task in several for run in runs(fit, task.name, 28))
    assert all(one[1] <= other[0] for one, other in itertools.pairwise(both))


def test_more_time_never_finds_dearer_programs():
    rng = random.Random(5)
    for _ in range(3):
        zones = tuple(
            replace(zone, store_mm=rng.choice([8.0, 20.0])) for zone in benchmark.made_up_zones(9)
        )
        task = replace(benchmark.task_of(9, frozenset({0, 3}), HourWindow(240, 400)), zones=zones)

        few, many = (fit_programs(task, Stop(seconds=60, rounds=n)) for n in (1, 8))

        assert many.cost <= few.cost + 1e-9
        assert many.bound >= few.bound - 1e-9
