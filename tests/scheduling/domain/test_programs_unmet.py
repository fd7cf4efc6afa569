from __future__ import annotations

import math
from dataclasses import replace

import pytest

from properties.domain.errors import InvalidInputError
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

LAWN = ZoneNeed(zone_id="lawn", need_mm_week=30.0, rate_mm_h=30.0, weight=1.0)
EARLY = ProgramRules(windows=(HourWindow(240, 480),))


def fit(zone=LAWN, rules=EARLY, **ability):
    return fit_programs(
        ControllerTask(ability=ControllerAbility(**ability), zones=(zone,), rules=rules),
        Stop(seconds=60),
    )


def said(found):
    return {one.code: one for one in found.unmet}


def test_a_cycle_shorter_than_the_step_gives_nothing_and_says_so():
    found = fit(replace(LAWN, longest_cycle_min=4.0), minute_step=5)

    assert found.programs == ()
    assert "lower rate" in said(found)["cycle-under-step"].cure
    assert (found.unmet[0].loss_mm_week, found.unmet[0].loss_share) == (30.0, 1.0)


@pytest.mark.parametrize(
    ("rules", "code"),
    [
        (replace(EARLY, windows=()), "no-hour-allowed"),
        (replace(EARLY, allowed_weekdays=frozenset()), "no-day-allowed"),
    ],
)
def test_a_ban_gives_nothing_and_asks_for_a_variance(rules, code):
    found = fit(rules=rules)

    assert found.programs == ()
    assert "variance" in said(found)[code].cure.lower()
    assert said(found)[code].loss_share == 1.0


def test_a_controller_without_a_start_is_refused_by_name():
    with pytest.raises(InvalidInputError) as refusal:
        ControllerAbility(starts_per_program=0)

    assert refusal.value.field == "starts_per_program"
    assert refusal.value.remedy


def test_a_soak_that_never_ends_is_refused_by_name():
    with pytest.raises(InvalidInputError) as refusal:
        replace(LAWN, soak_min=math.inf)

    assert refusal.value.field == "soak_min"
    assert refusal.value.remedy


def test_a_soil_that_takes_a_day_to_dry_gets_a_cycle_every_other_day_and_says_so():
    # Arithmetic: 5 min at 30 mm/h are 2.5 mm, which must soak for a whole day before the next
    # start: 8.75 mm a week on every other day, so 21.25 of 30 mm are missing.
    found = fit(replace(LAWN, longest_cycle_min=5.0, soak_min=1440.0))

    assert found.cost == pytest.approx(21.25)
    assert found.programs[0].pattern.every_days == 2
    assert len(found.programs[0].start_times) == 1
    assert said(found)["soil"].loss_mm_week == pytest.approx(21.25)
    assert said(found)["soil"].loss_share == pytest.approx(21.25 / 30)


def test_a_zone_that_needs_more_hours_than_the_week_has_is_told_so():
    # Arithmetic: 1000 mm at 1 mm/h are 1000 hours; a run of the whole day gives 168 mm.
    found = fit(
        replace(LAWN, need_mm_week=1000.0, rate_mm_h=1.0), ProgramRules(),
        starts_per_program=1, longest_run_min=1440,
    )  # fmt: skip

    assert found.zones[0].depth_mm_week == pytest.approx(168.0)
    assert said(found)["week"].loss_mm_week == pytest.approx(832.0)


def test_a_longest_run_that_is_too_short_is_cured_by_longer_ones():
    # Arithmetic: two days of 10 min give 10 of 30 mm.
    rules = replace(EARLY, allowed_weekdays=frozenset({0, 3}))
    found = fit(rules=rules, starts_per_program=1, longest_run_min=10)

    assert "longer runs" in said(found)["longest-run"].cure
    assert {"longest-run", "starts", "rules"} == set(said(found))
    assert said(found)["longest-run"].loss_mm_week == pytest.approx(20.0)
    assert "longest-run" not in said(fit(rules=rules, starts_per_program=1, longest_run_min=30))


def test_what_is_said_of_all_zones_bears_no_loss():
    task = ControllerTask(
        ability=ControllerAbility(programs=1),
        zones=(LAWN, replace(LAWN, zone_id="bed", kind=ZoneKind.DRIP)),
        rules=EARLY,
    )

    (mixed,) = fit_programs(task).unmet

    assert (mixed.zone_id, mixed.loss_mm_week, mixed.loss_share) == (None, None, None)


def test_no_need_is_no_loss():
    (idle,) = fit(replace(LAWN, need_mm_week=0.0)).unmet

    assert (idle.code, idle.loss_mm_week, idle.loss_share) == ("no-need", 0.0, None)
