from __future__ import annotations

import math
from dataclasses import replace
from datetime import time

import pytest

from properties.domain.errors import InvalidInputError
from scheduling.domain import programs_season
from scheduling.domain.programs import (
    ControllerAbility,
    ControllerTask,
    DayPattern,
    HourWindow,
    ProgramRules,
    Stop,
    ZoneKind,
    ZoneNeed,
    fit_controllers,
    fit_programs,
    season_by_days,
    season_by_percent,
    zone_weight,
)
from tests.benchmarks import programs as benchmark
from tests.scheduling.domain.program_grid import assert_legal

EARLY = ProgramRules(windows=(HourWindow(240, 480),))
LAWN = ZoneNeed(zone_id="lawn", need_mm_week=30.0, rate_mm_h=30.0, weight=1.0)
DRIP = ZoneNeed(
    zone_id="bed", need_mm_week=14.0, rate_mm_h=12.0, kind=ZoneKind.DRIP, weight=1.0
)  # fmt: skip


def task(*zones, rules=EARLY, drip_rules=None, name="", **ability) -> ControllerTask:
    return ControllerTask(
        ability=ControllerAbility(**ability),
        zones=zones or (LAWN,),
        rules=rules,
        drip_rules=drip_rules,
        name=name,
    )


def codes(fit, zone_id):
    return [one.code for one in fit.unmet if one.zone_id == zone_id]


def test_a_lawn_gets_its_week_in_one_run_where_nothing_forbids_it():
    # Arithmetic: 60 min at 30 mm/h are 30 mm.
    fit = fit_programs(task(interval_days=0))

    (program,) = fit.programs
    assert program.zone_minutes == (("lawn", 60),)
    assert program.start_times == (time(4, 0),)
    assert len(program.pattern.weekdays) == 1
    assert (fit.cost, fit.gap, fit.is_optimal, fit.unmet) == (0.0, 0.0, True, ())
    assert fit.zones[0].longest_gap_days == 7


def test_a_zone_soaks_while_the_others_run():
    # Arithmetic: cycles of 10 min and a soak of 30: the two other zones fill 20 of them.
    zone = replace(LAWN, need_mm_week=15.0, longest_cycle_min=10, soak_min=30, longest_gap_days=7)
    three = [replace(zone, zone_id=number) for number in range(3)]
    one_day = replace(EARLY, allowed_weekdays=frozenset({2}))

    fit = fit_programs(task(*three, rules=one_day, interval_days=0))

    (program,) = fit.programs
    assert program.start_times == (time(4, 0), time(4, 40), time(5, 20))
    assert [minutes for _, minutes in program.zone_minutes] == [10, 10, 10]
    assert fit.cost == 0


def test_drip_and_sprinklers_share_no_program():
    fit = fit_programs(task(LAWN, DRIP, programs=2))

    assert [len(program.kinds) for program in fit.programs] == [1, 1]
    assert fit.cost == 0


def test_a_single_program_mixes_them_and_says_so():
    fit = fit_programs(task(LAWN, DRIP, programs=1))

    assert len(fit.programs[0].kinds) == 2
    assert codes(fit, None) == ["kinds-mixed"]


def test_exempt_drip_keeps_its_own_days_and_hours():
    evening = ProgramRules(
        allowed_weekdays=frozenset({5}), windows=(HourWindow(1200, 1320),)
    )  # fmt: skip
    fit = fit_programs(task(LAWN, DRIP, drip_rules=evening, interval_days=0))

    drip = next(program for program in fit.programs if ZoneKind.DRIP in program.kinds)
    assert drip.pattern == DayPattern(weekdays=(5,))
    assert drip.start_times[0] >= time(20, 0)


@pytest.mark.parametrize("days", [{0, 1}, {0, 2}])
def test_a_run_passes_midnight_only_into_an_allowed_day(days):
    # Arithmetic: 180 min are needed. A single start gives 60 min on each of the two days, or, where
    # Tuesday follows, 120 min from Monday night on; either way 30 mm are missing.
    zone = replace(LAWN, need_mm_week=90.0)
    rules = ProgramRules(allowed_weekdays=frozenset(days), windows=(HourWindow(23 * 60, 60),))
    ours = task(zone, rules=rules, interval_days=0, starts_per_program=1)

    fit = fit_programs(ours)

    assert fit.cost == pytest.approx(30.0)
    assert_legal(ours, fit)


def test_a_gap_longer_than_the_roots_last_is_a_shortfall_and_stress():
    # Arithmetic: of seven days the roots last five, so 5/7 of 28 mm can be used: 20 mm.
    zone = replace(LAWN, need_mm_week=28.0, longest_gap_days=5)
    rules = replace(EARLY, allowed_weekdays=frozenset({1}))

    (found,) = fit_programs(task(zone, rules=rules)).zones

    assert found.stress_days_week == pytest.approx(2.0)
    assert (found.depth_mm_week, found.shortfall_mm_week) == pytest.approx((20.0, 8.0))


def test_weight_is_a_week_over_the_days_that_roots_last():
    # Arithmetic, our own rule.
    thirsty = replace(LAWN, need_mm_week=42.0, store_mm=18.0)  # three days
    deep = replace(LAWN, need_mm_week=7.0, store_mm=100.0)

    assert zone_weight(thirsty) == pytest.approx(7 / 3)
    assert zone_weight(deep) == 0.5
    assert zone_weight(replace(LAWN, longest_gap_days=1)) == 4.0
    assert zone_weight(LAWN) == 1.0


@pytest.mark.parametrize(
    ("zone", "rules", "ability", "code"),
    [
        ({"longest_cycle_min": 3.0}, {}, {"minute_step": 5}, "cycle-under-step"),
        ({}, {"allowed_weekdays": frozenset()}, {}, "no-day-allowed"),
        ({}, {"windows": ()}, {}, "no-hour-allowed"),
        ({}, {"daily_minutes_cap": 3.0}, {"minute_step": 5}, "cap-under-step"),
        ({"need_mm_week": 1000.0, "rate_mm_h": 1.0}, {}, {}, "rules"),
        ({}, {"daily_depth_cap_mm": 2.0}, {}, "rules"),
        ({"longest_cycle_min": 5.0}, {"allowed_weekdays": frozenset({1})},
         {"starts_per_program": 2}, "starts"),
        ({"need_mm_week": 0.1, "rate_mm_h": 60.0}, {}, {"minute_step": 5}, "least-step"),
        ({"need_mm_week": 1.0, "rate_mm_h": 60.0}, {}, {"minute_step": 5}, "least-step"),
        ({"store_mm": 1.0}, {}, {}, "soil"),
    ],
)  # fmt: skip
def test_what_cannot_be_met_is_said_with_its_cure(zone, rules, ability, code):
    fit = fit_programs(
        task(replace(LAWN, **zone), rules=replace(EARLY, **rules), **ability)
    )  # fmt: skip

    assert code in codes(fit, "lawn")
    assert all(one.sentence and one.cure for one in fit.unmet)


def test_hours_too_short_for_all_are_cured_by_a_longer_window():
    two = [replace(LAWN, zone_id=number) for number in range(2)]
    rules = ProgramRules(allowed_weekdays=frozenset({1}), windows=(HourWindow(240, 330),))

    fit = fit_programs(task(*two, rules=rules), Stop(seconds=60))

    # Arithmetic: 90 of 120 minutes, so 15 mm are missing.
    assert fit.is_optimal
    assert fit.cost == pytest.approx(15.0)
    assert "hours" in codes(fit, 0) + codes(fit, 1)


def test_unlike_zones_in_one_program_are_cured_by_another():
    shallow = replace(LAWN, zone_id="shallow", store_mm=5.0)
    coarse = replace(LAWN, zone_id="coarse", need_mm_week=3.0, rate_mm_h=60.0)

    fit = fit_programs(task(shallow, coarse, programs=1, starts_per_program=1))

    assert "programs" in codes(fit, "coarse") + codes(fit, "shallow")
    assert fit_programs(task(shallow, coarse, programs=2)).cost < fit.cost


def test_a_zone_without_need_is_left_out_and_said():
    fit = fit_programs(task(LAWN, replace(DRIP, need_mm_week=0.0, store_mm=9.0)))

    assert codes(fit, "bed") == ["no-need"]
    assert fit.zones[1].program is None
    assert fit.zones[1].stress_days_week == 0
    assert fit_programs(task(replace(LAWN, need_mm_week=0.0))).programs == ()


REFUSED = [
    (lambda: ControllerAbility(programs=0), "programs"),
    (lambda: ControllerAbility(starts_per_program=0), "starts_per_program"),
    (lambda: ControllerAbility(minute_step=2.5), "minute_step"),
    (lambda: ControllerAbility(longest_run_min=5, shortest_run_min=6), "shortest_run_min"),
    (lambda: ControllerAbility(can_weekdays=False, interval_days=0), "can_weekdays"),
    (lambda: ControllerAbility(percent_range=(10, 90)), "percent_range"),
    (lambda: HourWindow(300, 300), "closes_min"),
    (lambda: ProgramRules(allowed_weekdays=frozenset({7})), "allowed_weekdays"),
    (lambda: ProgramRules(allowed_parity="prime"), "allowed_parity"),
    (lambda: ProgramRules(daily_minutes_cap=0.0), "daily_minutes_cap"),
    (lambda: replace(LAWN, need_mm_week=-1.0), "need_mm_week"),
    (lambda: replace(LAWN, need_mm_week=1e9), "need_mm_week"),
    (lambda: replace(LAWN, rate_mm_h=math.nan), "rate_mm_h"),
    (lambda: replace(LAWN, soak_min=math.inf), "soak_min"),
    (lambda: replace(LAWN, weight=0.0), "weight"),
    (DayPattern, "pattern"),
    (lambda: DayPattern(weekdays=(7,)), "weekdays"),
    (lambda: DayPattern(every_days=3, first_day=3), "first_day"),
    (lambda: ControllerTask(ability=ControllerAbility(), zones=(), rules=EARLY), "zones"),
    (lambda: task(LAWN, LAWN), "zones"),
    (lambda: fit_controllers([], None), "controllers"),
    (lambda: fit_controllers([task(), task()], None), "name"),
    (lambda: fit_controllers([task()], 30.0), "flow_l_min"),
    (lambda: fit_controllers([task(replace(LAWN, flow_l_min=31.0))], 30.0), "flow_l_min"),
    (lambda: season_by_days(task(), {"lawn": (1.0,) * 11}), "needs_mm_week"),
]  # fmt: skip


@pytest.mark.parametrize(("make", "field"), REFUSED)
def test_what_cannot_be_is_refused_by_name(make, field):
    with pytest.raises(InvalidInputError) as refusal:
        make()

    assert refusal.value.field == field
    assert refusal.value.remedy


def test_controllers_take_turns_only_where_the_supply_is_too_small():
    flowing = replace(LAWN, flow_l_min=20.0)
    both = [task(flowing, name="north", programs=1), task(flowing, name="south", programs=1)]
    tight = replace(EARLY, allowed_weekdays=frozenset({1}), windows=(HourWindow(240, 300),))
    one_hour = [replace(one, rules=tight) for one in both]

    assert fit_controllers(one_hour, 40.0).cost == 0
    assert fit_controllers(one_hour, 39.0).cost == pytest.approx(30.0)


def test_three_controllers_that_fit_by_pairs_but_not_together_take_turns():
    flowing = replace(LAWN, flow_l_min=20.0)
    rules = replace(EARLY, allowed_weekdays=frozenset({1}), windows=(HourWindow(240, 300),))
    three = [task(flowing, name=name, rules=rules) for name in ("a", "b", "c")]

    assert fit_controllers(three, 60.0).cost == 0
    assert fit_controllers(three, 50.0).cost == pytest.approx(60.0)


def test_a_search_that_is_stopped_gives_its_best_and_says_so():
    lines = benchmark.task_of(24, benchmark.DAYS["three days"], benchmark.HOURS["4 h"])

    fit = fit_programs(lines, Stop(seconds=0.05, rounds=1))

    assert fit.stopped_early
    assert fit.gap > 0
    assert codes(fit, None) == ["stopped-early"]
    assert sum(zone.depth_mm_week > 0 for zone in fit.zones) > 12
    assert_legal(lines, fit, days=15)


def test_twenty_four_zones_on_four_programs_are_fitted_and_proven():
    lines = benchmark.task_of(24, benchmark.DAYS["any day"], benchmark.HOURS["8 h"])

    fit = fit_programs(lines, Stop(seconds=30))

    assert fit.is_optimal
    assert all(zone.depth_mm_week > 0 for zone in fit.zones)
    assert_legal(lines, fit, days=40)


NEEDS = (0.0, 4.0, 9.0, 15.0, 22.0, 28.0, 30.0, 27.0, 20.0, 12.0, 5.0, 0.0)


def test_same_minutes_and_days_further_apart_as_it_cools():
    year = season_by_days(task(), {"lawn": NEEDS})

    assert (year.peak_month, year.peak.cost) == (7, 0.0)
    assert year.months[6].cost == pytest.approx(0.0)
    assert year.months[0].patterns[0][1] is None
    april, may = year.months[3].zones[0], year.months[4].zones[0]
    # Arithmetic: every 14 days half of the week's depth, every 10 days seven tenths.
    assert (april.longest_gap_days, april.depth_mm_week) == (14, pytest.approx(15.0))
    assert may.longest_gap_days in (9, 10)
    assert {month.percent for month in year.months} == {100}


def test_programs_that_share_their_hours_never_come_to_share_a_day():
    # Arithmetic: the hours hold one zone's week at once, so the peak takes different days; at half
    # the need both would best run every 14 days, and must do so on different ones.
    rules = replace(EARLY, windows=(HourWindow(240, 300),))
    ours = task(
        *(replace(LAWN, zone_id=n) for n in range(2)),
        rules=rules, interval_days=14, can_weekdays=False,
    )  # fmt: skip

    year = season_by_days(ours, dict.fromkeys(range(2), NEEDS))

    assert year.peak.cost == pytest.approx(0.0)
    for month in year.months:
        days = dict(month.patterns)
        named = [(one, days[one.name]) for one in year.peak.programs]
        running = tuple(replace(one, pattern=on) for one, on in named if on is not None)
        assert_legal(ours, replace(year.peak, programs=running))


def test_changed_days_never_make_two_programs_meet():
    rules = replace(EARLY, windows=(HourWindow(240, 330),))
    zones = [replace(LAWN, zone_id=n, longest_gap_days=2 + n, weight=None) for n in range(3)]
    ours = task(*zones, rules=rules, programs=3, can_odd_even=True)

    year = season_by_days(ours, {n: NEEDS[n:] + NEEDS[:n] for n in range(3)})

    for month in year.months:
        days = dict(month.patterns)
        running = tuple(
            replace(program, pattern=days[program.name])
            for program in year.peak.programs
            if days[program.name] is not None
        )
        assert_legal(ours, replace(year.peak, programs=running))


def test_same_days_and_a_percentage_as_it_cools():
    year = season_by_percent(task(), {"lawn": NEEDS})

    # Arithmetic: need over the peak's need, on steps of ten per cent; January is switched off.
    assert [month.percent for month in year.months][1:11] == [
        10, 30, 50, 70, 90, 100, 90, 70, 40, 20,
    ]  # fmt: skip
    assert year.months[0].patterns[0][1] is None
    assert year.months[2].zones[0].depth_mm_week == pytest.approx(9.0)
    assert year.months[2].cost == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("one", "other", "later", "meet"),
    [
        (DayPattern(weekdays=(0, 2)), DayPattern(weekdays=(1, 3)), 0, False),
        (DayPattern(weekdays=(0, 2)), DayPattern(weekdays=(1, 3)), 1, True),
        (DayPattern(weekdays=(6,)), DayPattern(weekdays=(0,)), 1, True),
        (DayPattern(every_days=2), DayPattern(every_days=4, first_day=1), 0, False),
        (DayPattern(every_days=2), DayPattern(every_days=3, first_day=1), 0, True),
        (DayPattern(every_days=14, first_day=9), DayPattern(weekdays=(2,)), 0, True),
        (DayPattern(every_days=14, first_day=9), DayPattern(weekdays=(3,)), 0, False),
        (DayPattern(parity="odd"), DayPattern(parity="even"), 0, False),
        (DayPattern(parity="odd"), DayPattern(parity="odd"), 1, True),  # the 31st and the 1st
        (DayPattern(parity="even"), DayPattern(parity="even"), 1, False),
        (DayPattern(parity="even"), DayPattern(weekdays=(3,)), 0, True),
    ],
)  # fmt: skip
def test_patterns_meet_where_a_day_of_one_is_a_day_of_the_other(one, other, later, meet):
    assert one.meets(other, later=later) is meet


@pytest.mark.parametrize("season", [season_by_days, season_by_percent])
def test_a_crowded_year_ends_and_no_month_breaks_a_rule(season):
    # Programs that share their hours in the peak must not come to share a day in another month.
    lines = benchmark.task_of(12, benchmark.DAYS["two days"], benchmark.HOURS["4 h"])
    needs = {z.zone_id: [z.need_mm_week * part / 30 for part in NEEDS] for z in lines.zones}

    year = season(lines, needs)

    for month in year.months:
        days = dict(month.patterns)
        running = tuple(
            replace(program, pattern=days[program.name])
            for program in year.peak.programs
            if days[program.name] is not None
        )
        assert_legal(lines, replace(year.peak, programs=running), days=28)
        assert month.cost <= sum(z.ruling_weight * needs[z.zone_id][month.month - 1]
                                 for z in lines.zones) + 1e-6  # fmt: skip
    assert year.months[year.peak_month - 1].cost <= year.peak.cost + 1e-6


def test_days_that_could_not_all_be_tried_are_marked(monkeypatch):
    monkeypatch.setattr(programs_season, "MOST_TRIES", 1)
    ours = task(
        *(replace(LAWN, zone_id=n) for n in range(2)),
        rules=replace(EARLY, windows=(HourWindow(240, 300),)),
        interval_days=14, can_weekdays=False,
    )  # fmt: skip

    year = season_by_days(ours, dict.fromkeys(range(2), NEEDS))

    assert not all(month.is_proven for month in year.months)
    assert year.months[6].cost <= year.peak.cost + 1e-6


def test_days_come_no_closer_than_the_soak_lasts():
    # Arithmetic: 5 min must soak for a day, so it runs every other day at most, in any month.
    slow = replace(LAWN, longest_cycle_min=5.0, soak_min=1440.0)

    year = season_by_days(task(slow), {"lawn": NEEDS})

    gaps = [p.gaps for month in year.months for _, p in month.patterns if p is not None]
    assert gaps
    assert min(gap for each in gaps for gap, _ in each) == 2
