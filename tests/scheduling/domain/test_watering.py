"""What limits a watering day: roots, soil, rules and starts."""

from __future__ import annotations

import pytest

from properties.domain.site import SoilTexture
from scheduling.domain.zone_facts import WateringLimits
from tests.scheduling.domain.zones import codes, plan_of

INCH = 25.4
SHALLOW = {"root_depths_mm": (40.0,) * 12}  # hold 3 mm


def test_roots_that_hold_less_than_a_day_are_watered_several_times():
    plan = plan_of(7.0, **SHALLOW)

    assert (plan.days_between, plan.waterings_per_day) == (1, 3)
    assert plan.net_mm == pytest.approx(7 / 3)
    assert plan.weekly_gross_mm == pytest.approx(plan.gross_mm * 21)
    assert plan.shortfall_mm_day == 0.0
    assert "several-a-day" in codes(plan)


def test_the_starts_of_a_day_are_shared_evenly_between_its_waterings():
    rules = WateringLimits(max_cycles=3, longest_run_min=10.0)

    plan = plan_of(5.0, rules, rate_mm_h=10.0, **SHALLOW)

    # Two waterings of 15 min would take two cycles each; three starts give one each.
    assert (plan.waterings_per_day, plan.cycles, plan.minutes) == (2, 1, 10.0)
    assert plan.shortfall_mm_day == pytest.approx(5.0 - 2 * 10 * 10 / 60)
    assert "shortfall-starts" in codes(plan)


def test_each_of_several_waterings_keeps_within_the_roots():
    plan = plan_of(9.0, rate_mm_h=12.2, **SHALLOW)

    # 3 mm at 12.2 mm/h are 14.75 min; 15 would be more than the roots hold.
    assert (plan.waterings_per_day, plan.minutes) == (3, 14.0)


def test_a_zone_that_must_rest_a_day_is_watered_once():
    assert plan_of(5.0, min_days_between=2, **SHALLOW).waterings_per_day == 1


def test_a_cap_that_one_watering_uses_up_leaves_nothing_for_a_second():
    plan = plan_of(5.0, WateringLimits(daily_depth_cap_mm=2.5), **SHALLOW)

    assert plan.waterings_per_day == 1
    assert "shortfall-rule-depth" in codes(plan)


def test_the_controllers_longest_interval_binds_too():
    plan = plan_of(0.5, WateringLimits(longest_interval_days=10), max_days_between=20)

    assert plan.days_between == 10


def test_too_few_starts_for_shallow_roots_are_a_named_shortfall():
    plan = plan_of(7.0, WateringLimits(max_cycles=2), rate_mm_h=10.0, **SHALLOW)

    assert plan.waterings_per_day == 2
    assert plan.shortfall_mm_day == pytest.approx(1.0)
    assert "shortfall-store" in codes(plan)


def test_a_shortest_time_beyond_what_the_roots_hold_is_a_named_shortfall():
    plan = plan_of(5.0, min_days_between=4)

    assert plan.days_between == 4
    assert "shortfall-shortest-days" in codes(plan)
    assert plan.shortfall_mm_day >= 5 / 4


def test_flat_heavy_clay_waters_more_often_with_less():
    # TRADE-02, common practice: 0.6 in a day. The roots would hold 30 mm, six days.
    plan = plan_of(5.0, soil_texture=SoilTexture.CLAY, root_depths_mm=(400.0,) * 12)

    assert plan.raw_mm == 30.0
    assert plan.days_between == 3
    assert plan.gross_mm == pytest.approx(0.6 * INCH)  # 15 mm are 70.9 min, set as 3 x 24
    assert plan.cycles == 3  # .20 in stand after 30 min at .5 in/h on .1
    assert plan.shortfall_mm_day == 0.0
    assert {"soil-day", "soil-cycle"} <= set(codes(plan))


def test_a_need_beyond_what_the_soil_takes_in_a_day_is_a_named_shortfall():
    plan = plan_of(5.0, watering_day_limit_mm=4.0)

    assert plan.days_between == 1
    assert "shortfall-soil-day" in codes(plan)
    assert plan.shortfall_mm_day >= 1.0


@pytest.mark.parametrize(
    ("rules", "code"),
    [
        (WateringLimits(daily_depth_cap_mm=10.5), "rule-depth"),
        (WateringLimits(daily_minutes_cap=50.0), "rule-minutes"),
        (WateringLimits(max_cycles=1, longest_run_min=50.0), "starts"),
    ],
)
def test_a_cap_on_the_day_shortens_the_days_between(rules, code):
    plan = plan_of(5.0, rules)

    assert plan.days_between == 2
    assert codes(plan)[0] == code
    assert plan.shortfall_mm_day == 0.0


def test_the_longest_time_between_waters_only_what_was_used():
    plan = plan_of(1.0, max_days_between=7)

    assert (plan.days_between, plan.net_mm) == (7, 7.0)
    assert codes(plan)[0] == "longest-days"


def test_allowed_days_further_apart_than_the_longest_time_are_said():
    plan = plan_of(1.0, WateringLimits(allowed_weekdays=frozenset({3})), max_days_between=5)

    assert plan.days_between == 7
    assert "gap-over-longest" in codes(plan)
