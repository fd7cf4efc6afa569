"""What must hold of every plan, whatever the zone and the rules."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, reject
from hypothesis import strategies as st

from properties.domain.errors import RefusedError
from properties.domain.site import SoilTexture
from scheduling.domain.run_times import WateringLimits, zone_plan
from scheduling.domain.soil import max_cycle_min
from scheduling.domain.zone_facts import accumulation_of, intake_of, watering_day_limit_of
from tests.scheduling.domain.zones import FREE, make_climate, make_zone

MONTH = 7
TINY = 1e-6


@st.composite
def zones(draw, **fixed):
    changes = {
        "rate_mm_h": draw(st.floats(3, 60)),
        "soil_texture": draw(st.sampled_from(list(SoilTexture))),
        "slope_percent": draw(st.floats(0, 25)),
        "du_lq": draw(st.floats(0.2, 1.0)),
        "cups": draw(st.integers(4, 24)),
        "root_depths_mm": (draw(st.floats(40, 600)),) * 12,
        "min_days_between": draw(st.integers(1, 4)),
        "max_days_between": draw(st.none() | st.integers(4, 20)),
    }
    return make_zone(**{**changes, **fixed})


@st.composite
def rules(draw):
    return WateringLimits(
        allowed_weekdays=draw(st.none() | st.frozensets(st.integers(0, 6), min_size=1)),
        minute_step=draw(st.sampled_from([0.5, 1.0, 5.0])),
        daily_minutes_cap=draw(st.none() | st.floats(10, 120)),
        daily_depth_cap_mm=draw(st.none() | st.floats(5, 40)),
        max_cycles=draw(st.integers(1, 8)),
    )


needs = st.floats(0.2, 12)


def plan_or_reject(zone, need_mm_day, limits):
    try:
        return zone_plan(zone, make_climate(need_mm_day), limits, MONTH)
    except RefusedError:
        reject()


@given(zones(), rules(), needs, st.floats(0, 5))
def test_a_greater_need_never_lengthens_the_days_between(zone, limits, need, more):
    cool, warm = (plan_or_reject(zone, mm, limits) for mm in (need, need + more))

    assert warm.days_between <= cool.days_between


@given(zones(), rules(), needs)
def test_no_cycle_exceeds_what_surface_and_controller_take(zone, limits, need):
    plan = plan_or_reject(zone, need, limits)
    surface = max_cycle_min(zone.rate_mm_h, intake_of(zone), accumulation_of(zone))

    assert 0 < plan.cycle_min <= surface + TINY
    assert plan.cycle_min <= limits.longest_run_min
    assert plan.cycles * plan.waterings_per_day <= limits.max_cycles
    assert plan.cycle_min / limits.minute_step == pytest.approx(
        round(plan.cycle_min / limits.minute_step)
    )


@given(zones(), rules(), needs)
def test_neither_planned_nor_set_depth_exceeds_the_readily_available_water(zone, limits, need):
    plan = plan_or_reject(zone, need, limits)

    assert plan.net_mm <= plan.raw_mm + TINY
    assert plan.gross_mm / plan.multiplier <= plan.raw_mm + TINY


@given(zones(), rules(), needs)
def test_no_day_exceeds_what_soil_and_rules_take(zone, limits, need):
    plan = plan_or_reject(zone, need, limits)
    day_mm = plan.gross_mm * plan.waterings_per_day

    assert day_mm <= watering_day_limit_of(zone) + TINY
    assert day_mm <= (limits.daily_depth_cap_mm or day_mm) + TINY
    day_min = plan.minutes * plan.waterings_per_day
    assert day_min <= (limits.daily_minutes_cap or day_min) + TINY


@given(zones(), rules(), needs)
def test_the_soak_drains_the_surface_and_nothing_runs_off(zone, limits, need):
    # Second route: the surface itself, cycle by cycle.
    plan = plan_or_reject(zone, need, limits)
    assume(plan.cycles > 1)
    intake, standing_mm = intake_of(zone), 0.0

    for _ in range(plan.cycles - 1):
        standing_mm += max(0.0, plan.cycle_min * (zone.rate_mm_h - intake) / 60)
        assert standing_mm <= accumulation_of(zone) + TINY
        standing_mm = max(0.0, standing_mm - plan.soak_min * intake / 60)
        assert standing_mm <= TINY


@given(zones(), rules(), needs)
def test_what_the_plan_leaves_unmet_has_a_number_and_a_name(zone, limits, need):
    plan = plan_or_reject(zone, need, limits)
    codes = {reason.code.partition("-")[0] for reason in plan.reasons}
    nearest_step_mm = (
        plan.cycles * limits.minute_step / 2 * zone.rate_mm_h / 60 / plan.multiplier
    ) * plan.waterings_per_day

    covered = plan.weekly_net_mm / 7 + plan.shortfall_mm_day

    assert covered >= need - nearest_step_mm - TINY
    assert ("shortfall" in codes) == (plan.shortfall_mm_day > 0)


@given(zones(), needs, st.floats(1.0, 3.0))
def test_a_higher_rate_never_lengthens_the_minutes(zone, need, times):
    # Starts enough, so that only the device changes.
    limits = WateringLimits(max_cycles=24)
    quick = make_zone(**{**vars(zone), "rate_mm_h": zone.rate_mm_h * times})
    slow_plan, quick_plan = (plan_or_reject(each, need, limits) for each in (zone, quick))

    assert quick_plan.minutes_low <= slow_plan.minutes_low + TINY


@given(zones(min_days_between=1, max_days_between=None), st.lists(needs, min_size=12, max_size=12))
def test_a_plain_zone_waters_for_whole_days_of_need_up_to_a_full_store(zone, months):
    assume(zone.soil_texture not in {"clay", "silty_clay", "clay_loam"})
    for need in months:
        plan = plan_or_reject(zone, need, WateringLimits(max_cycles=24))
        assume(plan.waterings_per_day == 1 and plan.days_between < FREE.longest_interval_days)

        assert plan.net_mm == pytest.approx(need * plan.days_between)
        assert plan.net_mm > plan.raw_mm * plan.days_between / (plan.days_between + 1) - TINY
