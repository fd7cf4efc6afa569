"""Whole years on the controllers of one supply. All checks: arithmetic."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from scheduling.domain.controller_year import Spell, YearStyle, fit_spell
from scheduling.domain.program_loads import busiest_day_min, window_min
from scheduling.domain.programs import (
    ControllerAbility,
    ControllerTask,
    DayPattern,
    HourWindow,
    ProgramRules,
    Stop,
    ZoneKind,
    ZoneNeed,
    season_by_days,
)
from scheduling.domain.typed_programs import typed_months, typed_unmet

STOP = Stop(seconds=20)
CURVE = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.0, 0.9, 0.7, 0.5, 0.2, 0.0)
ALL_MONTHS = tuple(range(1, 13))


def task_of(name, flows=(40.0,), **changes):
    zones = tuple(
        ZoneNeed(
            zone_id=f"{name}{number}", need_mm_week=0.0, rate_mm_h=15.0, store_mm=15.0,
            longest_gap_days=14, flow_l_min=flow, area_m2=100.0,
        )
        for number, flow in enumerate(flows)
    )  # fmt: skip
    values = {"ability": ControllerAbility(interval_days=7), "rules": ProgramRules()}
    return ControllerTask(zones=zones, name=name, **{**values, **changes})


def spell_of(*tasks, months=ALL_MONTHS):
    needs = {
        zone.zone_id: [30.0 * part * (number in months) for number, part in enumerate(CURVE, 1)]
        for task in tasks
        for zone in task.zones
    }
    return Spell(months=tuple(months), tasks=tasks, needs_mm_week=needs)


def test_a_controller_alone_has_the_season_of_the_fit():
    spell = spell_of(task_of("a"))

    (fit,) = fit_spell(spell, YearStyle.DAYS, None, STOP)

    season = season_by_days(spell.tasks[0], spell.needs_mm_week, STOP)
    assert fit.months == season.months
    assert (fit.programs, fit.peak_month) == (season.peak.programs, season.peak_month)
    assert (fit.cost, fit.gap) == (pytest.approx(season.peak.cost), season.peak.gap)


def test_a_spell_holds_its_own_months_and_its_own_peak():
    (fit,) = fit_spell(spell_of(task_of("a"), months=(10, 11, 12)), YearStyle.DAYS, None, STOP)

    assert [month.month for month in fit.months] == [10, 11, 12]
    assert fit.peak_month == 10


def minutes_of(fit, setting, days=28):
    patterns = dict(setting.patterns)
    return {
        minute
        for program in fit.programs if patterns[program.name]
        for day in range(days) if patterns[program.name].may_run_on(day)
        for start in program.start_times
        for minute in range(
            day * 1440 + start.hour * 60 + start.minute,
            day * 1440 + start.hour * 60 + start.minute + program.run_min,
        )
    }  # fmt: skip


@pytest.mark.parametrize("asked", YearStyle)
def test_two_that_take_too_much_together_never_meet_in_any_month(asked):
    spell = spell_of(task_of("a", (40.0, 20.0)), task_of("b", (35.0,)))

    fits = fit_spell(spell, asked, 60.0, STOP)

    assert {fit.style for fit in fits} == {YearStyle.PERCENT}
    for settings in zip(*(fit.months for fit in fits), strict=True):
        one, other = map(minutes_of, fits, settings)
        assert not one & other
    assert all(minutes_of(fit, fit.months[5]) for fit in fits)


def test_two_that_the_supply_feeds_at_once_are_free_of_each_other():
    spell = spell_of(task_of("a"), task_of("b"))

    fits = fit_spell(spell, YearStyle.DAYS, 80.0, STOP)

    alone = fit_spell(spell_of(task_of("a")), YearStyle.DAYS, 80.0, STOP)
    assert fits[0] == alone[0]
    assert {fit.style for fit in fits} == {YearStyle.DAYS}


def test_three_that_fit_by_pairs_but_not_together_take_turns():
    spell = spell_of(*(task_of(name) for name in "abc"))

    fits = fit_spell(spell, YearStyle.DAYS, 100.0, STOP)

    for month in range(12):
        runs = [minutes_of(fit, fit.months[month]) for fit in fits]
        assert not set.intersection(*runs)
        assert all(len(one & other) == 0 for one, other in combinations(runs, 2))


def test_turns_keep_days_and_minutes_and_follow_the_need_by_percentage():
    spell = spell_of(task_of("a"), task_of("b"))

    (fit, _) = fit_spell(spell, YearStyle.PERCENT, 60.0, STOP)

    assert len({str(month.patterns) for month in fit.months if month.patterns[0][1]}) == 1
    assert fit.months[5].percent == 100
    # March needs 0.4 of June, which the fit meets but for the rounding to minutes.
    assert fit.months[2].percent == 40
    # January needs nothing: all is off.
    assert fit.months[0].patterns[0][1] is None


def test_an_unknown_flow_on_a_shared_supply_is_refused():
    dry = replace(task_of("a").zones[0], flow_l_min=None)
    spell = spell_of(replace(task_of("a"), zones=(dry,)), task_of("b"))

    with pytest.raises(ValueError, match="flow") as refusal:
        fit_spell(spell, YearStyle.DAYS, 60.0, STOP)

    assert refusal.value.remedy


def test_cost_and_what_is_not_met_are_told_to_the_controller_they_are_of():
    tight = ProgramRules(allowed_weekdays=frozenset({2}), daily_minutes_cap=20.0)
    spell = spell_of(task_of("a"), task_of("b", rules=tight))

    one, other = fit_spell(spell, YearStyle.DAYS, 60.0, STOP)

    assert one.unmet == ()
    assert {unmet.zone_id for unmet in other.unmet} == {"b0"}
    (told,) = [each for each in typed_unmet(other) if each["code"] == "rules"]
    # 20 min at 15 mm/h are 5 mm of the 30 mm.
    assert (told["need_mm_week"], told["shortfall_mm_week"]) == (30.0, 25.0)
    assert other.cost > one.cost


def test_what_is_kept_says_the_days_as_data_and_in_words():
    task = task_of("a")
    (fit,) = fit_spell(spell_of(task), YearStyle.DAYS, None, STOP)

    january, june = (typed_months(task, fit)[number] for number in (0, 5))

    assert january["programs"][0]["days"] == "off"
    assert january["programs"][0]["pattern"] is None
    assert january["busiest_day_min"] == 0
    assert june["programs"][0]["minutes"] == january["programs"][0]["minutes"]
    assert june["busiest_day_min"] == fit.programs[0].run_min * len(fit.programs[0].start_times)
    assert june["window_min"] == 24 * 60


def test_the_busiest_day_is_that_on_which_most_programs_meet():
    (fit,) = fit_spell(spell_of(task_of("a")), YearStyle.DAYS, None, STOP)
    program = replace(
        fit.programs[0], zone_minutes=(("a0", 30),), start_times=fit.programs[0].start_times[:1]
    )
    every_second, every_third = DayPattern(every_days=2), DayPattern(every_days=3, first_day=1)

    # Both come on the fourth day; half of twice 30 min.
    assert busiest_day_min([(program, every_second), (program, every_third)], 50) == 30
    assert busiest_day_min([(program, DayPattern(weekdays=(0,))),
                            (program, DayPattern(weekdays=(3,)))], 100) == 30  # fmt: skip
    assert busiest_day_min([], 100) == 0


def test_the_window_is_that_of_the_kinds_of_zones_there_are():
    night, drip = (
        ProgramRules(windows=(HourWindow(20 * 60, 8 * 60),)),
        ProgramRules(windows=(HourWindow(7 * 60, 10 * 60),)),
    )
    task = task_of("a", rules=night, drip_rules=drip)
    both = replace(
        task, zones=(*task.zones, replace(task.zones[0], zone_id="d", kind=ZoneKind.DRIP))
    )

    assert window_min(task) == 12 * 60
    assert window_min(both) == 14 * 60
